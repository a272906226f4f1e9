import type { FastifyInstance, FastifyReply, FastifyRequest } from "fastify";
import { BenchError } from "../../shared/bench-error.ts";
import { SetOnceBody } from "../../shared/files/set-once.ts";
import { DiagnosisReadings } from "../../shared/record/diagnosis.ts";
import {
  AttachmentPath,
  CodeBody,
  JobPath,
  MarkBody,
  PhotoPath,
  SessionBody,
  SessionPath,
} from "../../shared/wire-http.ts";
import type { Access, PageSession } from "./access.ts";
import { attachmentHeaders } from "./attachment-headers.ts";
import type { PageBench } from "./bench-facade.ts";
import type { CommandGate } from "./command-gate.ts";
import { addJobRoutes } from "./job-routes.ts";
import { refusalOf } from "./request-rules.ts";
import { addSetupRoutes } from "./setup-routes.ts";
import type { PageFile } from "./static-page.ts";

/** Trusted types are asked for as well: no string of the page ever becomes markup. */
export const PAGE_POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob:",
  "connect-src 'self'",
  "frame-ancestors 'none'",
  "base-uri 'none'",
  "form-action 'self'",
  "require-trusted-types-for 'script'",
].join("; ");

const SAFE_HEADERS = {
  "content-security-policy": PAGE_POLICY,
  "x-content-type-options": "nosniff",
  "cross-origin-resource-policy": "same-origin",
  "cross-origin-opener-policy": "same-origin",
  "referrer-policy": "no-referrer",
  "cache-control": "no-store",
};

const NEW_CODE_MS = 60_000;
/** A slash too many, or a query behind it, is no reason to leave an output on. */
const CUT_PATH = /^\/api\/cut\/?(?:\?|$)/;

/** Puts the rules before everything, then the page's files and the endpoints; everything that tells or does needs a session. */
export function addRoutes(
  app: FastifyInstance,
  options: {
    page: Map<string, PageFile>;
    access: Access;
    facade: PageBench;
    gate: CommandGate;
    /** Closes what a session has open. */
    onSessionEnded: (session: string) => void;
    port: () => number;
  },
): void {
  const { access, facade } = options;
  const sessionOf = (request: FastifyRequest): PageSession | null =>
    access.sessionOf({ rawHeaders: request.raw.rawHeaders });

  app.removeContentTypeParser("text/plain");
  app.addHook("onRequest", async (request, reply) => {
    reply.headers(SAFE_HEADERS);
    const head = { method: request.method, url: request.raw.url ?? "", rawHeaders: request.raw.rawHeaders };
    const isPage = options.page.has(head.url.split("?", 1)[0] ?? "");
    const needsOrigin = request.method !== "GET" && sessionOf(request)?.byToken !== true;
    const refusal = refusalOf(head, { port: options.port(), needsOrigin, isPage });
    if (refusal !== null) return reply.code(refusal.status).send({ error: refusal.because });
    // Off before anything looks at the body: a second way to the cut, for a script and for a page whose socket is stuck.
    if (request.method === "GET" || !CUT_PATH.test(head.url)) return;
    const session = sessionOf(request);
    if (session === null) return reply.code(401).send({ error: "no session" });
    return reply.send(await options.gate.cut("cut", { connection: "http", session }));
  });
  app.setNotFoundHandler((_request, reply) => reply.code(404).send({ error: "nothing is here" }));
  app.setErrorHandler((error, request, reply) => {
    const status = isHttpError(error) ? error.statusCode : 500;
    // An inner error is for the log, not for whoever asked.
    if (status >= 500) request.log.error({ err: error }, "a request failed");
    return reply.code(status).send({ error: status >= 500 ? "the daemon failed to do this" : "not understood" });
  });

  for (const [path, file] of options.page) {
    app.get(path, (_request, reply) => {
      if (file.lasting) reply.header("cache-control", "private, max-age=31536000, immutable");
      return reply.type(file.mediaType).send(file.bytes);
    });
  }

  app.post("/api/session", (request, reply) => {
    const body = SessionBody.safeParse(request.body);
    const bearer = body.success ? access.exchange(body.data.code) : null;
    if (bearer === null) return reply.code(401).send({ error: "this address was already used, or is too old" });
    return { session: "open", bearer };
  });

  const guarded =
    (answer: (request: FastifyRequest, reply: FastifyReply, session: PageSession) => unknown) =>
    async (request: FastifyRequest, reply: FastifyReply): Promise<unknown> => {
      const session = sessionOf(request);
      return session === null ? reply.code(401).send({ error: "no session" }) : answer(request, reply, session);
    };
  const nothing = (reply: FastifyReply) => reply.code(404).send({ error: "nothing is here" });

  app.get(
    "/api/session",
    guarded((_request, _reply, { id, name, mayOperate }) => ({ session: id, name, mayOperate })),
  );
  app.get(
    "/api/sessions",
    guarded((_request, reply, session) =>
      session.mayOperate
        ? { sessions: access.sessions() }
        : reply.code(403).send({ error: "a viewer's page is not told about the others" }),
    ),
  );
  app.post(
    "/api/sessions/:id/end",
    guarded((request, reply, session) => {
      const asked = SessionPath.safeParse(request.params);
      if (!asked.success) return nothing(reply);
      const { id } = asked.data;
      if (!session.mayOperate && id !== session.id)
        return reply.code(403).send({ error: "a viewer's page can only end its own session" });
      if (!access.end(id)) return nothing(reply);
      options.onSessionEnded(id);
      return { ended: true };
    }),
  );
  app.get(
    "/api/snapshot",
    guarded(() => facade.snapshot()),
  );
  app.post(
    "/api/code",
    guarded((request, reply, session) => {
      const body = CodeBody.safeParse(request.body);
      if (!body.success) return reply.code(400).send({ error: 'role should be "viewer" or "operator"' });
      if (!session.mayOperate) return reply.code(403).send({ error: "a viewer cannot let others in" });
      return { code: access.newCode({ mayOperate: body.data.role === "operator", lifetimeMs: NEW_CODE_MS }) };
    }),
  );
  app.get(
    "/api/jobs",
    guarded(async () => ({ jobs: (await facade.record?.jobs()) ?? [] })),
  );
  app.get(
    "/api/jobs/:id",
    guarded(async (request, reply) => {
      const asked = JobPath.safeParse(request.params);
      const job = asked.success ? await facade.record?.job(asked.data.id) : null;
      return job ?? nothing(reply);
    }),
  );
  app.get(
    "/api/jobs/:id/attachments/:hash",
    guarded(async (request, reply) => {
      const asked = AttachmentPath.safeParse(request.params);
      const found = asked.success ? await facade.record?.attachment(asked.data.id, asked.data.hash) : null;
      if (found === null || found === undefined) return nothing(reply);
      return reply.headers(attachmentHeaders(found)).send(found.bytes);
    }),
  );
  app.get(
    "/api/board/photos/:index",
    guarded(async (request, reply) => {
      const asked = PhotoPath.safeParse(request.params);
      const found = asked.success ? await facade.board?.photo(Number(asked.data.index)) : null;
      if (found === null || found === undefined) return nothing(reply);
      return reply.headers(attachmentHeaders(found)).send(found.bytes);
    }),
  );
  app.post(
    "/api/board/photos/:index/marks",
    guarded(async (request, reply, session) => {
      const asked = PhotoPath.safeParse(request.params);
      const body = MarkBody.safeParse(request.body);
      if (!session.mayOperate) return reply.code(403).send({ error: "a viewer's page cannot write" });
      if (!asked.success || !body.success) return reply.code(400).send({ error: "should hold a point and its place" });
      try {
        await facade.board?.mark(Number(asked.data.index), body.data.point, body.data.at);
        return { marked: true };
      } catch (error) {
        if (error instanceof BenchError) return reply.code(400).send({ error: error.message });
        throw error;
      }
    }),
  );
  app.post(
    "/api/diagnose",
    guarded(async (request, reply) => {
      const readings = DiagnosisReadings.safeParse(request.body);
      if (!readings.success) return reply.code(400).send({ error: "should hold readings of a board" });
      try {
        return (await facade.board?.diagnose(readings.data)) ?? nothing(reply);
      } catch (error) {
        if (error instanceof BenchError && error.code === "bad-input")
          return reply.code(400).send({ error: error.message });
        throw error;
      }
    }),
  );
  app.get(
    "/api/shop",
    guarded(async () => ({ shop: (await facade.shop?.()) ?? null })),
  );
  app.get(
    "/api/set-once",
    guarded(async (_request, reply) => (await facade.setOnce?.read()) ?? nothing(reply)),
  );
  app.post(
    "/api/set-once",
    guarded(async (request, reply, session) => {
      const body = SetOnceBody.safeParse(request.body);
      if (!session.mayOperate) return reply.code(403).send({ error: "a viewer's page sets nothing" });
      if (!body.success) return reply.code(400).send({ error: "should hold what is to be set, or forgotten" });
      try {
        return (await facade.setOnce?.change(body.data)) ?? nothing(reply);
      } catch (error) {
        if (error instanceof BenchError) return reply.code(400).send({ error: error.message });
        throw error;
      }
    }),
  );
  const { jobsForPage, setup } = facade;
  if (setup !== undefined) addSetupRoutes(app, { setup, sessionOf });
  // A part of its own: its parser of bytes is nobody else's.
  if (jobsForPage !== undefined) app.register(async (part) => addJobRoutes(part, { desk: jobsForPage, sessionOf }));
}

const isHttpError = (error: unknown): error is { statusCode: number } =>
  typeof error === "object" && error !== null && "statusCode" in error && typeof error.statusCode === "number";
