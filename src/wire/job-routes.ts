import { Readable } from "node:stream";
import type { FastifyInstance, FastifyReply, FastifyRequest } from "fastify";
import { BenchError } from "../../shared/bench-error.ts";
import {
  AttachQuery,
  CompareQuery,
  FileBody,
  FindQuery,
  JobCapturePath,
  JobPath,
  JobRunPath,
  NewJobBody,
  PointsQuery,
} from "../../shared/wire-http.ts";
import type { PageSession } from "./access.ts";
import type { PageJobs } from "./job-desk.ts";

/** A file kept with a job is at most this large, as the record has it. */
const MOST_FILE_BYTES = 20 * 1024 * 1024;

/**
 * The job record over HTTP: read by everybody who is let in, written to by whoever may operate. A note is no energising:
 * it asks for no lease.
 */
export function addJobRoutes(
  app: FastifyInstance,
  options: { desk: PageJobs; sessionOf: (request: FastifyRequest) => PageSession | null },
): void {
  const { desk, sessionOf } = options;
  const nothing = (reply: FastifyReply) => reply.code(404).send({ error: "nothing is here" });
  const wrong = (reply: FastifyReply, error: string) => reply.code(400).send({ error });

  // Before a body is read: nobody sends megabytes without a session.
  const reads = async (request: FastifyRequest, reply: FastifyReply) =>
    sessionOf(request) === null ? reply.code(401).send({ error: "no session" }) : undefined;
  const writes = async (request: FastifyRequest, reply: FastifyReply) => {
    const session = sessionOf(request);
    if (session === null) return reply.code(401).send({ error: "no session" });
    return session.mayOperate ? undefined : reply.code(403).send({ error: "a viewer's page cannot write" });
  };
  const answered =
    (answer: (request: FastifyRequest, reply: FastifyReply) => Promise<unknown>) =>
    async (request: FastifyRequest, reply: FastifyReply): Promise<unknown> => {
      try {
        return await answer(request, reply);
      } catch (error) {
        if (error instanceof BenchError)
          return reply.code(error.code === "bad-input" ? 400 : 507).send({ error: error.message });
        throw error;
      }
    };

  app.get(
    "/api/find-jobs",
    { onRequest: reads },
    answered(async (request, reply) => {
      const query = FindQuery.safeParse(request.query);
      return query.success ? await desk.find(query.data) : wrong(reply, "should hold words, stage, result and state");
    }),
  );
  app.get(
    "/api/jobs/:id/picture",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      const picture = asked.success ? await desk.picture(asked.data.id) : null;
      // A job without a photograph is no mistake of whoever asks.
      return picture === null ? reply.code(204).send() : reply.type(picture.mediaType).send(Buffer.from(picture.bytes));
    }),
  );
  app.get(
    "/api/jobs/:id/sheet",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      return (asked.success ? await desk.sheet(asked.data.id) : null) ?? nothing(reply);
    }),
  );
  app.get(
    "/api/jobs/:id/runs/:run",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = JobRunPath.safeParse(request.params);
      return (asked.success ? await desk.run(asked.data.id, asked.data.run) : null) ?? nothing(reply);
    }),
  );
  app.get(
    "/api/jobs/:id/captures/:capture/points",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = JobCapturePath.safeParse(request.params);
      const query = PointsQuery.safeParse(request.query);
      if (!query.success) return wrong(reply, "from and to are milliseconds of the run, most is 1 to 4000");
      const { from, to, most } = query.data;
      const window = {
        ...(from === undefined ? {} : { fromMs: from }),
        ...(to === undefined ? {} : { toMs: to }),
        most,
      };
      return (asked.success ? await desk.points(asked.data.id, asked.data.capture, window) : null) ?? nothing(reply);
    }),
  );
  app.get(
    "/api/jobs/:id/runs/:run/csv",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = JobRunPath.safeParse(request.params);
      const parts = asked.success ? await desk.csv(asked.data.id, asked.data.run) : null;
      return parts === null ? nothing(reply) : reply.type("text/csv; charset=utf-8").send(Readable.from(parts));
    }),
  );
  app.get(
    "/api/jobs/:id/diagnosis",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      return (asked.success ? await desk.diagnosis(asked.data.id) : null) ?? nothing(reply);
    }),
  );
  app.get(
    "/api/jobs/:id/archive",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      const archive = asked.success ? await desk.archive(asked.data.id) : null;
      if (archive === null) return nothing(reply);
      reply.header("content-disposition", `attachment; filename="${archive.name}"`);
      return reply.type("application/zip").send(Readable.from(archive.bytes));
    }),
  );
  app.get(
    "/api/compare",
    { onRequest: reads },
    answered(async (request, reply) => {
      const asked = CompareQuery.safeParse(request.query);
      return asked.success
        ? await desk.compare(asked.data.a, asked.data.b)
        : wrong(reply, "should name two ids, a and b");
    }),
  );
  app.post(
    "/api/jobs",
    { onRequest: writes },
    answered(async (request, reply) => {
      const body = NewJobBody.safeParse(request.body);
      return body.success
        ? { job: await desk.newJob(body.data.title) }
        : wrong(reply, "should be a title of at most 200 characters");
    }),
  );
  app.post(
    "/api/jobs/:id/events",
    { onRequest: writes },
    answered(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      const body = FileBody.safeParse(request.body);
      if (!body.success) {
        const [first] = body.error.issues;
        return wrong(reply, `${first?.path.join(".") ?? ""} ${first?.message ?? "is not understood"}`.trim());
      }
      const filed = asked.success && (await desk.file(asked.data.id, body.data.event, body.data.id));
      return filed ? { filed: true } : nothing(reply);
    }),
  );
  app.post(
    "/api/jobs/:id/report",
    { onRequest: writes },
    answered(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      return (asked.success ? await desk.report(asked.data.id) : null) ?? nothing(reply);
    }),
  );
  app.addContentTypeParser("application/octet-stream", { parseAs: "buffer" }, (_request, body, done) =>
    done(null, body),
  );
  app.post(
    "/api/jobs/:id/attachments",
    { onRequest: writes, bodyLimit: MOST_FILE_BYTES },
    answered(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      const of = AttachQuery.safeParse(request.query);
      if (!of.success || !Buffer.isBuffer(request.body)) return wrong(reply, "should have bytes and a name");
      return (asked.success ? await desk.attach(asked.data.id, request.body, of.data) : null) ?? nothing(reply);
    }),
  );
}
