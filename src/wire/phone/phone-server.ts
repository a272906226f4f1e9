import type { IncomingMessage } from "node:http";
import { isIPv6 } from "node:net";
import type { Readable } from "node:stream";
import type { FastifyBaseLogger, FastifyReply, FastifyRequest } from "fastify";
import { BenchError } from "../../../shared/bench-error.ts";
import { PhoneCodeBody, PhotographQuery } from "../../../shared/wire-phone.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import type { PageJobs } from "../job-desk.ts";
import { listen } from "../listen.ts";
import { pageServer } from "../page-server.ts";
import { valuesOf } from "../request-rules.ts";
import type { PageFile } from "../static-page.ts";
import type { PhoneUpload } from "./phone-code.ts";
import type { PhoneAddress, PhoneDesk } from "./phone-desk.ts";

/** As large as a file of the record may be. */
const MOST_PHOTOGRAPH_BYTES = 20 * 1024 * 1024;
const MOST_CODE_BYTES = 1024;
const UPLOAD_WITHIN_MS = 120_000;
const MOST_CONNECTIONS = 16;

const HEADERS = {
  "content-security-policy":
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'",
  "x-content-type-options": "nosniff",
  "cross-origin-resource-policy": "same-origin",
  "cross-origin-opener-policy": "same-origin",
  "referrer-policy": "no-referrer",
  "cache-control": "no-store",
};

export interface PhoneServer {
  port: number;
  close(): Promise<void>;
}

/**
 * Serves the upload form and takes photographs, on an address of its own, and nothing else: whatever else is asked for is
 * not there, no request that only reads changes anything, and no cookie is set. Throws as the page's own server does where
 * it cannot listen.
 */
export async function startPhoneServer(options: {
  at: PhoneAddress;
  desk: PhoneDesk;
  jobs: () => PageJobs | undefined;
  /** The files of the built page; those of the form are taken. */
  page: Map<string, PageFile>;
  log?: FastifyBaseLogger;
}): Promise<PhoneServer> {
  const { desk } = options;
  const app = pageServer(options.log, MOST_CODE_BYTES, {
    maxHeaderSize: 8 * 1024,
    requestTimeout: UPLOAD_WITHIN_MS,
    headersTimeout: 5_000,
    connectionsCheckingInterval: 1_000,
  });
  app.removeContentTypeParser("text/plain");
  // A photograph goes to the disk as it comes; nothing of it is gathered.
  app.addContentTypeParser("application/octet-stream", (_request, body, done) => done(null, body));

  const refuse = (reply: FastifyReply, status: number, error: string): FastifyReply =>
    // The rest of a body that nobody wants is not waited for.
    reply.code(status).header("connection", "close").send({ error });
  app.addHook("onRequest", async (request, reply) => {
    reply.headers(HEADERS);
    const own = ownHost(request.raw);
    const { rawHeaders } = request.raw;
    const hosts = valuesOf({ rawHeaders }, "host");
    if (hosts.length !== 1 || hosts[0]?.toLowerCase() !== own)
      return refuse(reply, 403, "this server answers only to its own address");
    if (request.method !== "GET" && valuesOf({ rawHeaders }, "origin").join() !== `http://${own}`)
      return refuse(reply, 403, "only this server's own page may do this");
  });
  app.setNotFoundHandler((_request, reply) => refuse(reply, 404, "nothing is here"));
  app.setErrorHandler((error, request, reply) => {
    const status = error instanceof Error && "statusCode" in error ? Number(error.statusCode) : 500;
    if (status >= 500) request.log.error({ err: error }, "a request of a phone failed");
    return refuse(reply, status, status >= 500 ? "the daemon failed to do this" : "not understood");
  });

  for (const [path, file] of formFiles(options.page))
    app.get(path, (_request, reply) => reply.type(file.mediaType).send(file.bytes));

  app.post("/code", (request, reply) => {
    const body = PhoneCodeBody.safeParse(request.body);
    const pass = body.success ? desk.code.use(body.data.code) : null;
    return pass === null ? refuse(reply, 401, "no-code") : { pass };
  });

  // Before anything of a photograph is read: who has no pass, and what is too large, is sent away.
  const mayUpload = async (request: FastifyRequest, reply: FastifyReply): Promise<unknown> => {
    if (!desk.code.knows(passOf(request))) return refuse(reply, 401, "no-code");
    if (Number(request.headers["content-length"] ?? 0) > MOST_PHOTOGRAPH_BYTES) return refuse(reply, 413, "too-large");
    return undefined;
  };
  app.post("/photographs", { onRequest: mayUpload }, async (request, reply) => {
    const of = PhotographQuery.safeParse(request.query);
    const jobs = options.jobs();
    if (!of.success || jobs === undefined) return refuse(reply, 400, "not understood");
    const place = desk.code.begin(passOf(request));
    if (place === "no-pass") return refuse(reply, 401, "no-code");
    if (place === "too-many") return refuse(reply, 429, "too-many");
    const came = bounded(request.body as Readable, place);
    const { name, caption = "" } = of.data;
    let filed = false;
    try {
      const answer = await jobs.photograph(place.job, came.pieces, caption === "" ? { name } : { name, caption });
      filed = answer === "filed";
      if (filed) return { filed };
      await came.rest();
      return refuse(reply, answer === "no-job" ? 401 : 415, answer === "no-job" ? "no-code" : answer);
    } catch (error) {
      if (came.stopped !== null) return refuse(reply, came.stopped === "too-large" ? 413 : 401, came.stopped);
      request.log.warn(`A photograph from a phone was not filed: ${messageOf(error)}`);
      return refuse(reply, error instanceof BenchError && error.code === "disk-full" ? 507 : 500, "not-filed");
    } finally {
      place.over(filed);
    }
  });
  await app.ready();
  app.server.maxConnections = MOST_CONNECTIONS;
  app.server.maxHeadersCount = 64;
  app.server.keepAliveTimeout = 5_000;
  // Without a listener a request to upgrade would be answered as if it asked for the page.
  app.server.on("upgrade", (_request, socket) => {
    socket.on("error", () => socket.destroy());
    socket.end("HTTP/1.1 404 Refused\r\nConnection: close\r\nContent-Length: 0\r\n\r\n");
  });
  const port = await listen(app.server, options.at.port, options.at.host).catch(async (error: unknown) => {
    await app.close();
    throw error;
  });
  return {
    port,
    close: async () => {
      app.server.closeAllConnections();
      await new Promise((resolve) => app.server.close(resolve));
      await app.close();
    },
  };
}

/** The bytes of a photograph as they come, and no more of them than may come. Who reads them may stop at any piece. */
function bounded(body: Readable, place: PhoneUpload) {
  // Kept whole where its reader stops: the answer goes out on the same connection.
  const source = body.iterator({ destroyOnReturn: false }) as AsyncIterableIterator<Uint8Array>;
  let bytes = 0;
  const came = {
    stopped: null as "too-large" | "no-code" | null,
    pieces: pieces(),
    /** Lets what is still to come pass by, so that a phone that sends first and reads then gets its answer. */
    rest: async (): Promise<void> => {
      for await (const piece of source) {
        bytes += piece.length;
        if (bytes > MOST_PHOTOGRAPH_BYTES) return;
      }
    },
  };
  async function* pieces(): AsyncGenerator<Uint8Array> {
    for (;;) {
      const { value: piece, done } = await source.next();
      if (done === true) break;
      bytes += piece.length;
      if (bytes > MOST_PHOTOGRAPH_BYTES || !place.take(piece.length)) came.stopped = "too-large";
      if (came.stopped !== null) throw new Error("more came than may come");
      yield piece;
    }
    if (!place.isInForce()) {
      came.stopped = "no-code";
      throw new Error("the code ended meanwhile");
    }
  }
  return came;
}

const passOf = ({ raw }: FastifyRequest): string =>
  /^Bearer ([A-Za-z0-9_-]{1,64})$/.exec(valuesOf(raw, "authorization")[0] ?? "")?.[1] ?? "";

/** The address and port that the phone reached, as its `Host` header should name them. */
function ownHost({ socket }: IncomingMessage): string {
  const { localAddress = "", localPort = 0 } = socket;
  const address = localAddress.replace(/^::ffff:(?=\d+\.)/, "");
  const named = isIPv6(address) ? `[${address}]` : address;
  return localPort === 80 ? named : `${named}:${localPort}`;
}

/** The form, and the files that it names. */
function formFiles(page: Map<string, PageFile>): [path: string, file: PageFile][] {
  const form = page.get("/phone.html");
  if (form === undefined) throw new BenchError("bad-input", 'The form for phones is not built; run "npm run build"');
  const named = [...form.bytes.toString().matchAll(/(?:src|href)="(\/[^"]+)"/g)].map(([, path]) => path ?? "");
  return [
    ["/", form],
    ...named.flatMap((path): [string, PageFile][] => {
      const file = page.get(path);
      return file === undefined ? [] : [[path, file]];
    }),
  ];
}
