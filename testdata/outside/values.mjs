// Makes values of schemas with the npm package json-schema-faker. Reads {"schemas": {name: schema}, "components",
// "count", "seed"} and prints one [name, value] a line.
import { readFileSync } from "node:fs";
import { createGenerator } from "json-schema-faker";

// The contract is OpenAPI 3.0; its schemas differ from JSON Schema in limits that exclude, in null and in examples.
function jsonSchema(v) {
  if (Array.isArray(v)) return v.map(jsonSchema);
  if (v === null || typeof v !== "object") return v;
  const s = Object.fromEntries(Object.entries(v).map(([name, inner]) => [name, jsonSchema(inner)]));
  for (const [flag, limit] of [["exclusiveMinimum", "minimum"], ["exclusiveMaximum", "maximum"]]) {
    if (s[flag] === true) {
      s[flag] = s[limit];
      delete s[limit];
    }
  }
  delete s.example;
  if (s.nullable === true && typeof s.type === "string") s.type = [s.type, "null"];
  return s;
}

const { schemas, components, count, seed } = JSON.parse(readFileSync(0, "utf8"));
const generator = createGenerator({ seed, optionalsProbability: 0.5, maxLength: 1000 });
for (const [name, schema] of Object.entries(schemas)) {
  const root = { ...jsonSchema(schema), components: jsonSchema(components) };
  for (let made = 0, tried = 0; made < count && tried < 5 * count; tried++) {
    try {
      console.log(JSON.stringify([name, await generator.generate(root)]));
      made++;
    } catch (e) {
      if (!String(e).includes("were not found")) throw e; // it left out too many optional properties
    }
  }
}
