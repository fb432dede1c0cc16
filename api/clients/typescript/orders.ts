// An order from the shop's side: place, wait, download, answer, correct, hold, cancel; and from the workroom's: refit.
import { connect, must, pause, setting, type NewOrder, type Order, type Tapeline } from "./tapeline.js";

// recipe: place-an-order
/** Places an order. The key makes it safe to repeat: the same order is never placed twice. */
export async function place(shop: Tapeline, order: NewOrder): Promise<Order> {
  return must(await shop.POST("/v1/orders", {
    params: { header: { "Idempotency-Key": `"${order.reference}"` } },
    body: order,
  }));
}

/** Waits until an order is drafted or held. A shop that receives webhooks need not ask. */
export async function settled(shop: Tapeline, order_id: string): Promise<Order> {
  for (;;) {
    const order = must(await shop.GET("/v1/orders/{order_id}", { params: { path: { order_id } } }));
    if (order.status !== "received") return order;
    await pause();
  }
}

/** Downloads the pattern of a ready order. */
export async function download(shop: Tapeline, order_id: string, paper: string): Promise<Buffer> {
  const file = must(await shop.GET("/v1/orders/{order_id}/pattern.{format}", {
    params: { path: { order_id, format: "pdf" }, query: { paper } },
    parseAs: "arrayBuffer",
  }));
  return Buffer.from(file as unknown as ArrayBuffer);
}
// end

// recipe: answer-a-question
/** Asks the customer of a held order about each number in doubt, and releases it with the numbers that are right. */
export async function answer(shop: Tapeline, order: Order, agrees: (question: string) => boolean): Promise<Order> {
  const { report } = must(await shop.GET("/v1/measurement-sets/{measurement_set_id}", {
    params: { path: { measurement_set_id: order.measurement_set_id } },
  }));
  const corrected: Record<string, number> = {};
  for (const finding of report.findings) {
    if (finding.level === "confirm" && finding.corrected && agrees(finding.detail)) {
      Object.assign(corrected, finding.corrected);
    }
  }
  if (Object.keys(corrected).length === 0) {
    return confirm(shop, order.id, { reason: "The customer says that the numbers are right." });
  }
  const measurement_set_id = await remeasure(shop, order, corrected);
  return confirm(shop, order.id, { measurement_set_id, reason: "The customer corrected the numbers." });
}

/** Releases a held order. */
async function confirm(shop: Tapeline, order_id: string, body: { measurement_set_id?: string; reason: string }) {
  return must(await shop.POST("/v1/orders/{order_id}/confirm", { params: { path: { order_id } }, body }));
}
// end

// recipe: correct-a-measurement
/** Drafts an order that is not cut again with some numbers corrected. */
export async function correct(shop: Tapeline, order: Order, measurements: Record<string, number>): Promise<Order> {
  const reason = "The customer was measured again.";
  await hold(shop, order.id, reason);
  return confirm(shop, order.id, { measurement_set_id: await remeasure(shop, order, measurements), reason });
}

/** Corrects some of a customer's measurements and returns the ID of the new set. */
async function remeasure(shop: Tapeline, order: Order, measurements: Record<string, number>): Promise<string> {
  return must(await shop.PATCH("/v1/customers/{customer_id}/measurements", {
    params: { path: { customer_id: order.customer_id } },
    body: { unit: order.unit, measurements },
  })).id;
}
// end

// recipe: hold-and-cancel
/** Keeps an order from being drafted and handed out until it is confirmed. */
export async function hold(shop: Tapeline, order_id: string, reason: string): Promise<Order> {
  return must(await shop.POST("/v1/orders/{order_id}/hold", { params: { path: { order_id } }, body: { reason } }));
}

/** Closes an order for good: its pattern and its links are no longer handed out. */
export async function cancel(shop: Tapeline, order_id: string, reason: string): Promise<Order> {
  return must(await shop.POST("/v1/orders/{order_id}/cancel", { params: { path: { order_id } }, body: { reason } }));
}
// end

// recipe: refit-one-order
/** Previews more ease over the bust on one order, and applies it if no seam moves more than most mm. */
export async function refit(staff: Tapeline, order: Order, ease: number, most: number): Promise<string> {
  const refit = must(await staff.POST("/v1/refits", {
    body: {
      change: { fit: { block: order.block!, from: order.fit, to: order.fit, unit: order.unit, ease: { bust_girth: ease } } },
      scope: { orders: [order.id] },
      reason: "Tight over the bust at the fitting.",
    },
  }));
  const path = { refit_id: refit.id };
  while (must(await staff.GET("/v1/refits/{refit_id}", { params: { path } })).status === "previewing") await pause();
  const preview = must(await staff.GET("/v1/refits/{refit_id}/orders/{order_id}", {
    params: { path: { ...path, order_id: order.id } },
  }));
  const small = preview.preview === "changes" && preview.comparison!.largest <= most;
  must(await staff.POST("/v1/refits/{refit_id}/decide", { params: { path }, body: { apply: small ? "all" : "none" } }));
  for (;;) {
    const { status } = must(await staff.GET("/v1/refits/{refit_id}", { params: { path } }));
    if (status === "done") break;
    await pause();
  }
  return must(await staff.GET("/v1/refits/{refit_id}/orders/{order_id}", {
    params: { path: { ...path, order_id: order.id } },
  })).outcome!;
}
// end

// recipe: test-an-order
/** Places an order with a test key that is held with a question, whatever its numbers, and answers it. */
export async function tryHeld(test: Tapeline, order: NewOrder): Promise<Order> {
  const placed = await place(test, { ...order, reference: `TEST-HELD-${order.reference}` });
  const held = await settled(test, placed.id);
  await answer(test, held, () => false);
  return settled(test, held.id);
}
// end

const shop = connect(setting("TAPELINE_KEY"));
const newOrder: NewOrder = {
  reference: process.argv[2] ?? `S-${Date.now()}`,
  customer: { reference: "C-77", name: "Mara Vell" },
  unit: "cm",
  measurements: {
    bust_girth: 92, waist_girth: 47, hip_girth: 98, neck_base_girth: 37, shoulder_length: 12.6, back_width: 35,
    nape_to_waist: 41, waist_to_hip: 20.5, upper_arm_girth: 29, wrist_girth: 16, arm_length: 58,
  },
  block: "torso",
};

function report(step: string, order: Order) {
  console.log(`${step}: ${order.status}, revision ${order.revision ?? "none"}`);
}

let order = await settled(shop, (await place(shop, newOrder)).id);
report("placed", order);
await answer(shop, order, (question) => {
  console.log(question);
  return true;
});
report("answered", (order = await settled(shop, order.id)));
console.log(`downloaded: ${(await download(shop, order.id, "a4")).subarray(0, 5)}`);
await correct(shop, order, { arm_length: 59 });
report("corrected", (order = await settled(shop, order.id)));
console.log(`refit: ${await refit(connect(setting("TAPELINE_STAFF_KEY")), order, 9, 25)}`);
const other = await place(shop, {
  ...newOrder, reference: `${newOrder.reference}-2`, measurements: { ...newOrder.measurements, waist_girth: 74 },
});
await settled(shop, other.id);
report("held", await hold(shop, other.id, "The customer asked us to wait."));
report("cancelled", await cancel(shop, other.id, "The customer changed their mind."));
report("test order", await tryHeld(connect(setting("TAPELINE_TEST_KEY")), newOrder));
