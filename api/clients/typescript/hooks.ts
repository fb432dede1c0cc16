// A receiver of webhooks. It takes only what tapeline has signed, and each message once.
import { createServer } from "node:http";
import { text } from "node:stream/consumers";
import { Webhook } from "standardwebhooks";
import type { components } from "./schema.js";
import { setting } from "./tapeline.js";

// recipe: verify-a-webhook
const webhook = new Webhook(setting("TAPELINE_WEBHOOK_SECRET"));
const seen = new Set<string>(); // a shop keeps these with its orders

/** Returns the event of a message, or nothing if it has come before. It throws if the signature is not right. */
function receive(headers: Record<string, string>, body: string): components["schemas"]["WebhookEvent"] | undefined {
  const event = webhook.verify(body, headers) as components["schemas"]["WebhookEvent"];
  const id = headers["webhook-id"];
  if (seen.has(id)) return undefined;
  seen.add(id);
  return event;
}
// end

createServer(async (request, response) => {
  try {
    const event = receive(request.headers as Record<string, string>, await text(request));
    if (event) console.log(event.type, event.data.reference ?? "");
    response.writeHead(204).end();
  } catch {
    response.writeHead(401).end();
  }
}).listen(Number(setting("PORT")), "127.0.0.1", () => console.log("listening"));
