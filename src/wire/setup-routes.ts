import type { FastifyInstance, FastifyReply, FastifyRequest } from "fastify";
import { BenchError } from "../../shared/bench-error.ts";
import {
  SetupBenchBody,
  SetupFileBody,
  SetupLookBody,
  SetupProbeBody,
  SetupRehearseBody,
} from "../../shared/files/setup.ts";
import type { PageSession } from "./access.ts";
import type { PageSetup } from "./setup-desk.ts";

/** Long enough for a bench file with every instrument and feed it may have, bytes. */
const MOST_BODY_BYTES = 64 * 1024;

interface BodySchema<Body> {
  safeParse(
    document: unknown,
  ): { success: true; data: Body } | { success: false; error: { issues: { path: PropertyKey[]; message: string }[] } };
}

/** The first set-up over HTTP: looked at by everybody who is let in, done by whoever may operate. */
export function addSetupRoutes(
  app: FastifyInstance,
  options: { setup: PageSetup; sessionOf: (request: FastifyRequest) => PageSession | null },
): void {
  const { setup, sessionOf } = options;
  const reads = async (request: FastifyRequest, reply: FastifyReply) =>
    sessionOf(request) === null ? reply.code(401).send({ error: "no session" }) : undefined;
  const writes = async (request: FastifyRequest, reply: FastifyReply) => {
    const session = sessionOf(request);
    if (session === null) return reply.code(401).send({ error: "no session" });
    return session.mayOperate ? undefined : reply.code(403).send({ error: "a viewer's page cannot set up a bench" });
  };

  app.get("/api/setup", { onRequest: reads }, () => setup.view());

  /** One step of the set-up: its body checked, what stands in its way told. */
  function step<Body>(path: string, schema: BodySchema<Body>, work: (body: Body) => Promise<unknown>) {
    app.post(path, { onRequest: writes, bodyLimit: MOST_BODY_BYTES }, async (request, reply) => {
      const body = schema.safeParse(request.body);
      if (!body.success) {
        const [first] = body.error.issues;
        return reply
          .code(400)
          .send({ error: `${first?.path.map(String).join(".") ?? ""} ${first?.message ?? ""}`.trim() });
      }
      try {
        return await work(body.data);
      } catch (error) {
        if (!(error instanceof BenchError)) throw error;
        const { there } = error.detail;
        return there === undefined
          ? reply.code(400).send({ error: error.message })
          : reply.code(409).send({ error: error.message, there });
      }
    });
  }
  step("/api/setup/look", SetupLookBody, async ({ address }) => ({ found: await setup.look(address) }));
  step("/api/setup/file", SetupFileBody, async (asked) => ({ file: await setup.write(asked) }));
  step("/api/setup/check", SetupBenchBody, async ({ file }) => ({ findings: await setup.check(file) }));
  step("/api/setup/use", SetupBenchBody, async ({ file }) => {
    await setup.use(file);
    return { used: true };
  });
  step("/api/setup/rehearse", SetupRehearseBody, async ({ scenario }) => {
    await setup.rehearse(scenario);
    return { rehearsing: true };
  });
  step("/api/setup/end-rehearsal", SetupProbeBody.partial(), async () => {
    await setup.endRehearsal();
    return { rehearsing: false };
  });
  step("/api/setup/probe", SetupProbeBody, async ({ point }) => {
    await setup.probe(point);
    return { point };
  });
}
