// Checks orders against forms with the npm package ajv. Reads a list of {"form", "orders"} and prints, for each form,
// the faults of each order: the JSON pointers of what is missing, and of what is refused with the keyword.
import { readFileSync } from "node:fs";
import Ajv from "ajv/dist/2020.js";

const results = JSON.parse(readFileSync(0, "utf8")).map(({ form, orders }) => {
  const ajv = new Ajv({ allErrors: true, strict: true, strictRequired: false, strictTypes: false });
  ajv.addKeyword("x-unit"); // says the unit of a number, which JSON Schema has no word for
  const check = ajv.compile(form);
  return orders.map((order) =>
    check(order) ? [] : check.errors.map((e) =>
      e.keyword === "required" ? `missing ${e.instancePath}/${e.params.missingProperty}` : `${e.keyword} ${e.instancePath}`));
});
console.log(JSON.stringify(results));
