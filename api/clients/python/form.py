"""The shop's server behind the checkout form in ../page. It holds the key that places orders; the page has another."""

import json
import os
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from tapeline import Problem, call

PAGE = Path(__file__).parent.parent / "page"
TYPES = {"form.html": "text/html; charset=utf-8", "form.js": "text/javascript"}
SETTINGS = {"api": os.environ["TAPELINE_URL"], "key": os.environ["TAPELINE_PUBLISHABLE_KEY"], "style": "shift-dress",
            "unit": "cm"}


def place(filled):
    """Places the order of a filled form and returns what to tell the customer."""
    reference = f"W-{time.time_ns()}"  # of the shop's own order
    order = {**filled, "reference": reference, "customer": {"reference": reference}, "unit": SETTINGS["unit"],
             "style": SETTINGS["style"]}
    try:
        order = call(os.environ["TAPELINE_KEY"], "POST", "/v1/orders", order, {"Idempotency-Key": f'"{reference}"'})
    except Problem as problem:
        faults = problem.document.get("errors", [])
        return "\n".join(f"{f.get('pointer')}: {f['detail']}" for f in faults) or problem.document["title"]
    return f"Thank you. Your order is {order['reference']}."


class Form(BaseHTTPRequestHandler):
    def do_GET(self):
        file = self.path[1:] or "form.html"
        if file == "settings":
            self.answer("application/json", json.dumps(SETTINGS).encode())
        elif file in TYPES:
            self.answer(TYPES[file], (PAGE / file).read_bytes())
        else:
            self.send_error(404)

    def do_POST(self):
        filled = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        self.answer("text/plain; charset=utf-8", place(filled).encode())

    def answer(self, media_type, content):
        self.send_response(200)
        self.send_header("Content-Type", media_type)
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *_):
        pass


server = ThreadingHTTPServer(("127.0.0.1", int(os.environ["PORT"])), Form)
print("listening", flush=True)
server.serve_forever()
