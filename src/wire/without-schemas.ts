import type { FastifyServerOptions } from "fastify";

function unused(): never {
  throw new Error("a route of this program has no JSON schema");
}

/**
 * Keeps fastify from loading its compilers of JSON schemas, which take longer to load than all the rest of it: zod checks the bodies here.
 */
export const WITHOUT_SCHEMAS = {
  compilersFactory: { buildValidator: unused, buildSerializer: unused },
} satisfies FastifyServerOptions["schemaController"];
