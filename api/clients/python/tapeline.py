"""The API with nothing but the standard library."""

import json
import os
import time
import urllib.error
import urllib.request


class Problem(Exception):
    """A refusal: `document` has its code, detail and the fields at fault."""

    def __init__(self, document):
        super().__init__(json.dumps(document))
        self.document = document


def call(key, method, path, body=None, headers={}):
    """Sends a request with a key and returns the answer: JSON as data, a file as bytes."""
    data = None if body is None else json.dumps(body).encode()
    headers = {"Authorization": "Bearer " + key, "Content-Type": "application/json", **headers}
    request = urllib.request.Request(os.environ["TAPELINE_URL"] + path, data, headers, method=method)
    try:
        with urllib.request.urlopen(request) as answer:
            content = answer.read()
            return json.loads(content) if answer.headers.get_content_type() == "application/json" else content
    except urllib.error.HTTPError as refusal:
        raise Problem(json.load(refusal)) from None


def pause():
    """Waits between two looks at something that the server is working on."""
    time.sleep(0.2)
