import fastify, {
  type FastifyBaseLogger,
  type FastifyInstance,
  type FastifyServerOptions,
  LogController,
} from "fastify";

function unused(): never {
  throw new Error("a route has a JSON schema, which nothing here compiles: check its body with zod");
}

/**
 * Keeps fastify from loading its compilers of JSON schemas, which take longer to load than all the rest of it: zod checks the bodies here.
 */
const WITHOUT_SCHEMAS = {
  compilersFactory: { buildValidator: unused, buildSerializer: unused },
} satisfies FastifyServerOptions["schemaController"];

/** Limits of a server, in bytes and milliseconds, under the names that Node gives them. */
export interface ServerLimits {
  maxHeaderSize: number;
  requestTimeout: number;
  headersTimeout: number;
  connectionsCheckingInterval: number;
}

/**
 * Makes an HTTP server without routes, with what the page's and the phone's servers share: it logs no request, refuses a body of more than
 * `mostBodyBytes`, and its end cuts every connection.
 */
export function pageServer(
  log: FastifyBaseLogger | undefined,
  mostBodyBytes: number,
  limits: ServerLimits,
): FastifyInstance {
  return fastify({
    ...(log === undefined ? {} : { loggerInstance: log }),
    logController: new LogController({ disableRequestLogging: true }),
    schemaController: WITHOUT_SCHEMAS,
    bodyLimit: mostBodyBytes,
    exposeHeadRoutes: false,
    forceCloseConnections: true,
    http: limits,
  });
}
