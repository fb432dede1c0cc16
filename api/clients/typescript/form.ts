// The shop's server behind the checkout form in ../page. It holds the key that places orders; the page has another.
import { readFile } from "node:fs/promises";
import { createServer } from "node:http";
import { json } from "node:stream/consumers";
import { connect, setting, type NewOrder } from "./tapeline.js";

const page = new URL("../../page/", import.meta.url); // as seen from build/
const shop = connect(setting("TAPELINE_KEY"));
const settings = {
  api: setting("TAPELINE_URL"), key: setting("TAPELINE_PUBLISHABLE_KEY"), style: "shift-dress", unit: "cm" as const,
};

/** Places the order of a filled form and returns what to tell the customer. */
async function place(filled: Pick<NewOrder, "measurements" | "fit" | "choices">): Promise<string> {
  const reference = `W-${Date.now()}`; // of the shop's own order
  const { data, error } = await shop.POST("/v1/orders", {
    params: { header: { "Idempotency-Key": `"${reference}"` } },
    body: { ...filled, reference, customer: { reference }, unit: settings.unit, style: settings.style },
  });
  if (data) return `Thank you. Your order is ${data.reference}.`;
  return error.errors?.map((fault) => `${fault.pointer}: ${fault.detail}`).join("\n") ?? error.title;
}

const types: Record<string, string> = { "form.html": "text/html; charset=utf-8", "form.js": "text/javascript" };

createServer(async (request, response) => {
  const file = request.url === "/" ? "form.html" : request.url!.slice(1);
  if (request.method === "POST" && file === "order") {
    response.end(await place((await json(request)) as NewOrder));
  } else if (file === "settings") {
    response.writeHead(200, { "Content-Type": "application/json" }).end(JSON.stringify(settings));
  } else if (file in types) {
    response.writeHead(200, { "Content-Type": types[file] }).end(await readFile(new URL(file, page)));
  } else {
    response.writeHead(404).end();
  }
}).listen(Number(setting("PORT")), "127.0.0.1", () => console.log("listening"));
