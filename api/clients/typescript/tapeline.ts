// The API with types: openapi-typescript makes them from openapi.yaml, openapi-fetch sends the requests.
import createClient, { type Client } from "openapi-fetch";
import type { components, paths } from "./schema.js";

export type Order = components["schemas"]["Order"];
export type NewOrder = components["schemas"]["NewOrder"];
export type Tapeline = Client<paths>;

/** Connects to the API at TAPELINE_URL with a key. */
export function connect(key: string): Tapeline {
  return createClient<paths>({ baseUrl: setting("TAPELINE_URL"), headers: { Authorization: `Bearer ${key}` } });
}

/** Returns the data of an answer. A problem is thrown with its code, detail and the fields at fault. */
export function must<T>({ data, error, response }: { data?: T; error?: unknown; response: Response }): T {
  if (!response.ok) throw new Error(`${response.status} ${JSON.stringify(error)}`);
  return data as T;
}

/** Returns a setting of the environment. */
export function setting(name: string): string {
  const value = process.env[name];
  if (!value) throw new Error(`set ${name}`);
  return value;
}

/** Waits between two looks at something that the server is working on. */
export const pause = () => new Promise((done) => setTimeout(done, 200));
