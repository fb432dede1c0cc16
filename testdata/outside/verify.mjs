// Checks a webhook's signature with the npm package standardwebhooks. Reads
// {"secret", "headers", "body"} and prints valid or invalid.
import { readFileSync } from "node:fs";
import { Webhook } from "standardwebhooks";

const { secret, headers, body } = JSON.parse(readFileSync(0, "utf8"));
try {
  new Webhook(secret).verify(body, headers);
  console.log("valid");
} catch {
  console.log("invalid");
}
