// The main flow, driven by a client whose types openapi-typescript generates
// from openapi.yaml: an order is created, drafted, read and fetched as a PDF.
// Needs TAPELINE_URL and TAPELINE_KEY; prints the order's status and pages.
import createClient from "openapi-fetch";
import type { paths } from "./schema.js";

const client = createClient<paths>({
  baseUrl: process.env.TAPELINE_URL,
  headers: { Authorization: `Bearer ${process.env.TAPELINE_KEY}` },
});

function must<T>(answer: { data?: T; error?: unknown; response: Response }): T {
  if (answer.data === undefined) {
    throw new Error(`${answer.response.status} ${JSON.stringify(answer.error)}`);
  }
  return answer.data;
}

const created = must(
  await client.POST("/v1/orders", {
    params: { header: { "Idempotency-Key": '"outside-1"' } },
    body: {
      reference: "OUTSIDE-1",
      customer: { reference: "C-OUTSIDE-1", name: "Orla Finch" },
      unit: "cm",
      measurements: {
        bust_girth: 96, waist_girth: 78, hip_girth: 103, neck_base_girth: 38, shoulder_length: 12.8, back_width: 36,
        nape_to_waist: 42, waist_to_hip: 21, upper_arm_girth: 30, wrist_girth: 16.5, arm_length: 59,
      },
      block: "torso",
      fit: "regular",
    },
  }),
);

let order = created;
for (let i = 0; i < 200 && order.status === "received"; i++) {
  await new Promise((done) => setTimeout(done, 50));
  order = must(await client.GET("/v1/orders/{order_id}", { params: { path: { order_id: created.id } } }));
}
const pdf = must(
  await client.GET("/v1/orders/{order_id}/pattern.{format}", {
    params: { path: { order_id: created.id, format: "pdf" }, query: { paper: "a4", layers: ["cut_line", "text"] } },
    querySerializer: { array: { style: "form", explode: false } },
    parseAs: "arrayBuffer",
  }),
) as unknown as ArrayBuffer;
const head = new TextDecoder().decode(pdf.slice(0, 5));
const pages = must(await client.GET("/v1/orders/{order_id}/pages", { params: { path: { order_id: created.id } } }));
console.log(JSON.stringify({ status: order.status, head, bytes: pdf.byteLength, pages }));
