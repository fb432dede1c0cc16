"""A receiver of webhooks. It takes only what tapeline has signed, and each message once."""

import base64
import hashlib
import hmac
import json
import os
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

# recipe: verify-a-webhook
SECRET = base64.b64decode(os.environ["TAPELINE_WEBHOOK_SECRET"].removeprefix("whsec_"))
seen = set()  # a shop keeps these with its orders


def receive(headers, body):
    """Returns the event of a message, or None if it has come before. It raises ValueError if the signature is not right."""
    message, timestamp = headers["webhook-id"], headers["webhook-timestamp"]
    if abs(time.time() - int(timestamp)) > 300:
        raise ValueError("the message is older than five minutes")
    signed = f"{message}.{timestamp}.".encode() + body
    right = "v1," + base64.b64encode(hmac.new(SECRET, signed, hashlib.sha256).digest()).decode()
    # While a secret is rotated there is a signature of each.
    if not any(hmac.compare_digest(right, given) for given in headers["webhook-signature"].split()):
        raise ValueError("the signature is not right")
    if message in seen:
        return None
    seen.add(message)
    return json.loads(body)
# end


class Receiver(BaseHTTPRequestHandler):
    def do_POST(self):
        try:
            event = receive(self.headers, self.rfile.read(int(self.headers["Content-Length"])))
        except (ValueError, TypeError, AttributeError):  # of missing headers too
            self.send_response(401)
        else:
            if event:
                print(event["type"], event["data"].get("reference", ""), flush=True)
            self.send_response(204)
        self.end_headers()

    def log_message(self, *_):
        pass


server = ThreadingHTTPServer(("127.0.0.1", int(os.environ["PORT"])), Receiver)
print("listening", flush=True)
server.serve_forever()
