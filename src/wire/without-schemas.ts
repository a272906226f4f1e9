import type { FastifyServerOptions } from "fastify";

function unused(): never {
  throw new Error("a route of this program has no JSON schema");
}

/**
 * What a server of this program gives fastify in place of its compilers of JSON schemas, which take longer to load than all the rest of it:
 * bodies are checked by zod.
 */
export const WITHOUT_SCHEMAS = {
  compilersFactory: { buildValidator: unused, buildSerializer: unused },
} satisfies FastifyServerOptions["schemaController"];
