import { randomBytes } from "node:crypto";
import { rm } from "node:fs/promises";
import { createServer } from "node:http";
import type { FastifyBaseLogger } from "fastify";
import type { Clock } from "../../shared/clock.ts";
import { realClock } from "../system/real-clock.ts";
import { Access } from "./access.ts";
import type { PageBench } from "./bench-facade.ts";
import { addRoutes } from "./http-routes.ts";
import { listen } from "./listen.ts";
import { pageServer } from "./page-server.ts";
import { type PhoneAddress, PhoneDesk } from "./phone/phone-desk.ts";
import { type PhoneServer, startPhoneServer } from "./phone/phone-server.ts";
import { socketServer } from "./socket-server.ts";
import { loadPage } from "./static-page.ts";
import { takeToken } from "./token-file.ts";

export interface WireOptions {
  facade: PageBench;
  /** The folder of the built page. */
  pageDir: string;
  /** 0, the default, takes a free port. */
  port?: number;
  /** 64 hex digits; without one it comes from `tokenFile`, and without that it is new. */
  token?: string;
  /** The file where scripts find the token; readable by its owner only, removed at an orderly end. */
  tokenFile?: string;
  /** The time that the code in `url` is good for, ms; 60 s by default. */
  codeLifetimeMs?: number;
  /** Where a phone may send photographs; left out: nowhere. */
  phone?: PhoneAddress;
  log?: FastifyBaseLogger;
  clock?: Clock;
}

export interface Wire {
  /** The address to open, with its one-time code in the fragment, where no log and no referrer carries it. */
  url: string;
  port: number;
  /** Where phones send photographs to; empty where they may not. */
  phoneAddresses: string[];
  /** Another address, for another browser or where the first was used or is too old. */
  newUrl(role?: "operator" | "viewer"): string;
  close(): Promise<void>;
}

/**
 * Serves the page and its live data on the loopback addresses only: 127.0.0.1, and ::1 on the same port where it can.
 * Throws `port-in-use`, `no-permission` (a port below 1024), or `bad-input` where there is no built page.
 */
export async function startWire(options: WireOptions): Promise<Wire> {
  const clock = options.clock ?? realClock;
  const page = await loadPage(options.pageDir);
  const token =
    options.token ??
    (options.tokenFile === undefined ? randomBytes(32).toString("hex") : await takeToken(options.tokenFile));
  const access = new Access(token, clock);
  let port = 0;

  const limits = {
    maxHeaderSize: 16 * 1024,
    requestTimeout: 30_000,
    headersTimeout: 5_000,
    connectionsCheckingInterval: 1_000,
  };
  const app = pageServer(options.log, 16 * 1024, limits);
  const phoneAt = options.phone === undefined ? null : { ...options.phone };
  const phone =
    phoneAt === null
      ? null
      : new PhoneDesk({ facade: options.facade, clock, at: () => phoneAt, onChange: () => sockets.tellPhone() });
  const sockets = socketServer({
    facade: options.facade,
    access,
    clock,
    phone,
    port: () => port,
    onProblem: (text, detail) => app.log.warn(detail, text),
  });
  addRoutes(app, {
    page,
    access,
    facade: options.facade,
    gate: sockets.gate,
    onSessionEnded: sockets.endSession,
    port: () => port,
  });
  await app.ready();

  const first = app.server;
  const second = createServer(limits, (request, response) => app.routing(request, response));
  for (const server of [first, second]) {
    server.maxHeadersCount = 100;
    server.maxConnections = 128;
    server.keepAliveTimeout = 5_000;
    server.on("upgrade", sockets.upgrade);
  }
  let phones: PhoneServer | null = null;
  try {
    port = await listen(first, options.port ?? 0, "127.0.0.1");
    if (phoneAt !== null && phone !== null) {
      const jobs = () => options.facade.jobsForPage;
      const log = options.log === undefined ? {} : { log: options.log };
      phones = await startPhoneServer({ at: phoneAt, desk: phone, jobs, page, ...log });
      phoneAt.port = phones.port;
    }
  } catch (error) {
    sockets.close();
    phone?.close();
    await app.close();
    throw error;
  }
  // Loopback on IPv6 is a convenience for those whose "localhost" means it; a machine without it is served anyway.
  const onBoth = await listen(second, port, "::1").catch(() => null);

  const newUrl = (role: "operator" | "viewer" = "operator", lifetimeMs = options.codeLifetimeMs ?? 60_000): string =>
    `http://127.0.0.1:${port}/#k=${access.newCode({ mayOperate: role === "operator", lifetimeMs })}`;
  return {
    url: newUrl(),
    port,
    phoneAddresses: phone?.look().addresses ?? [],
    newUrl: (role) => newUrl(role),
    close: async () => {
      sockets.close();
      phone?.close();
      await phones?.close();
      if (onBoth !== null) {
        second.closeAllConnections();
        await new Promise((resolve) => second.close(resolve));
      }
      first.closeAllConnections();
      await new Promise((resolve) => first.close(resolve));
      await app.close();
      if (options.token === undefined && options.tokenFile !== undefined) await rm(options.tokenFile, { force: true });
    },
  };
}
