"""An order from the shop's side: place, wait, download, answer, correct, hold, cancel; and from the workroom's: refit."""

import os
import sys
import time

from tapeline import call, pause


# recipe: place-an-order
def place(key, order):
    """Places an order. The key makes it safe to repeat: the same order is never placed twice."""
    return call(key, "POST", "/v1/orders", order, {"Idempotency-Key": f'"{order["reference"]}"'})


def settled(key, order_id):
    """Waits until an order is drafted or held. A shop that receives webhooks need not ask."""
    while True:
        order = call(key, "GET", f"/v1/orders/{order_id}")
        if order["status"] != "received":
            return order
        pause()


def download(key, order_id, paper):
    """Downloads the pattern of a ready order."""
    return call(key, "GET", f"/v1/orders/{order_id}/pattern.pdf?paper={paper}")
# end


# recipe: answer-a-question
def answer(key, order, agrees):
    """Asks the customer of a held order about each number in doubt, and releases it with the numbers that are right."""
    measured = call(key, "GET", f"/v1/measurement-sets/{order['measurement_set_id']}")
    corrected = {}
    for finding in measured["report"]["findings"]:
        if finding["level"] == "confirm" and "corrected" in finding and agrees(finding["detail"]):
            corrected.update(finding["corrected"])
    if not corrected:
        return confirm(key, order["id"], {"reason": "The customer says that the numbers are right."})
    return confirm(key, order["id"], {"measurement_set_id": remeasure(key, order, corrected),
                                      "reason": "The customer corrected the numbers."})


def confirm(key, order_id, body):
    """Releases a held order."""
    return call(key, "POST", f"/v1/orders/{order_id}/confirm", body)
# end


# recipe: correct-a-measurement
def correct(key, order, measurements):
    """Drafts an order that is not cut again with some numbers corrected."""
    reason = "The customer was measured again."
    hold(key, order["id"], reason)
    return confirm(key, order["id"], {"measurement_set_id": remeasure(key, order, measurements), "reason": reason})


def remeasure(key, order, measurements):
    """Corrects some of a customer's measurements and returns the ID of the new set."""
    return call(key, "PATCH", f"/v1/customers/{order['customer_id']}/measurements",
                {"unit": order["unit"], "measurements": measurements})["id"]
# end


# recipe: hold-and-cancel
def hold(key, order_id, reason):
    """Keeps an order from being drafted and handed out until it is confirmed."""
    return call(key, "POST", f"/v1/orders/{order_id}/hold", {"reason": reason})


def cancel(key, order_id, reason):
    """Closes an order for good: its pattern and its links are no longer handed out."""
    return call(key, "POST", f"/v1/orders/{order_id}/cancel", {"reason": reason})
# end


# recipe: refit-one-order
def refit(key, order, ease, most):
    """Previews more ease over the bust on one order, and applies it if no seam moves more than most mm."""
    change = {"block": order["block"], "from": order["fit"], "to": order["fit"], "unit": order["unit"],
              "ease": {"bust_girth": ease}}
    path = "/v1/refits/" + call(key, "POST", "/v1/refits", {
        "change": {"fit": change}, "scope": {"orders": [order["id"]]},
        "reason": "Tight over the bust at the fitting."})["id"]
    while call(key, "GET", path)["status"] == "previewing":
        pause()
    preview = call(key, "GET", f"{path}/orders/{order['id']}")
    small = preview["preview"] == "changes" and preview["comparison"]["largest"] <= most
    call(key, "POST", path + "/decide", {"apply": "all" if small else "none"})
    while call(key, "GET", path)["status"] != "done":
        pause()
    return call(key, "GET", f"{path}/orders/{order['id']}")["outcome"]
# end


# recipe: test-an-order
def try_held(key, order):
    """Places an order with a test key that is held with a question, whatever its numbers, and answers it."""
    placed = place(key, {**order, "reference": "TEST-HELD-" + order["reference"]})
    held = settled(key, placed["id"])
    answer(key, held, lambda question: False)
    return settled(key, held["id"])
# end


def report(step, order):
    print(f"{step}: {order['status']}, revision {order.get('revision', 'none')}")


def agree(question):
    print(question)
    return True


shop = os.environ["TAPELINE_KEY"]
new_order = {
    "reference": sys.argv[1] if len(sys.argv) > 1 else f"S-{time.time_ns()}",
    "customer": {"reference": "C-77", "name": "Mara Vell"},
    "unit": "cm",
    "measurements": {
        "bust_girth": 92, "waist_girth": 47, "hip_girth": 98, "neck_base_girth": 37, "shoulder_length": 12.6,
        "back_width": 35, "nape_to_waist": 41, "waist_to_hip": 20.5, "upper_arm_girth": 29, "wrist_girth": 16,
        "arm_length": 58,
    },
    "block": "torso",
}

order = settled(shop, place(shop, new_order)["id"])
report("placed", order)
answer(shop, order, agree)
order = settled(shop, order["id"])
report("answered", order)
print("downloaded:", download(shop, order["id"], "a4")[:5].decode())
correct(shop, order, {"arm_length": 59})
order = settled(shop, order["id"])
report("corrected", order)
print("refit:", refit(os.environ["TAPELINE_STAFF_KEY"], order, ease=9, most=25))
other = place(shop, {**new_order, "reference": new_order["reference"] + "-2",
                     "measurements": {**new_order["measurements"], "waist_girth": 74}})
settled(shop, other["id"])
report("held", hold(shop, other["id"], "The customer asked us to wait."))
report("cancelled", cancel(shop, other["id"], "The customer changed their mind."))
report("test order", try_held(os.environ["TAPELINE_TEST_KEY"], new_order))
