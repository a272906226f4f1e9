/** The head of a request or an upgrade, as far as the rules look at it. */
export interface RequestHead {
  method: string;
  url: string;
  /** Name, value, name, value, as they came. */
  rawHeaders: readonly string[];
}

export interface Refusal {
  status: 400 | 403 | 431;
  because: string;
}

const MOST_HEADERS = 64;

/**
 * Says why a request is refused before anything else looks at it, or null where it may go on. Every request and upgrade
 * must name this server in its one `Host` header: that is the cure for DNS rebinding, by which a foreign page reaches a
 * loopback server under a name of its own. `Origin`, where there is one, must be this server's; where `needsOrigin` it
 * must be there (an upgrade, anything but GET), unless a script shows the token instead. `Sec-Fetch-Site` is the second
 * check (W3C Fetch Metadata): only the page itself or the address bar. A link followed to the bare page is let through.
 */
export function refusalOf(
  head: RequestHead,
  server: { port: number; needsOrigin: boolean; isPage: boolean },
): Refusal | null {
  if (head.rawHeaders.length / 2 > MOST_HEADERS) return { status: 431, because: "too many headers" };
  const hosts = valuesOf(head, "host");
  const host = hosts[0];
  if (hosts.length !== 1 || host === undefined || !namesOf(server.port).includes(host.toLowerCase())) {
    return { status: 403, because: "this server answers only to its own address" };
  }
  if (!head.url.startsWith("/") || head.url.startsWith("//")) return { status: 400, because: "not a path" };

  const origins = valuesOf(head, "origin");
  if (origins.length > 1) return { status: 403, because: "two origins" };
  const origin = origins[0];
  if (origin === undefined ? server.needsOrigin : origin.toLowerCase() !== `http://${host.toLowerCase()}`) {
    return { status: 403, because: "only this server's own page may do this" };
  }
  const site = valuesOf(head, "sec-fetch-site")[0];
  const follows = server.isPage && head.method === "GET" && valuesOf(head, "sec-fetch-mode")[0] === "navigate";
  if (site !== undefined && site !== "same-origin" && site !== "none" && !follows) {
    return { status: 403, because: "only this server's own page may do this" };
  }
  return null;
}

/** Every value of one header, in order; the name without regard to case. */
export function valuesOf(head: Pick<RequestHead, "rawHeaders">, name: string): string[] {
  const values: string[] = [];
  for (let at = 0; at + 1 < head.rawHeaders.length; at += 2) {
    if (head.rawHeaders[at]?.toLowerCase() === name) values.push(head.rawHeaders[at + 1] ?? "");
  }
  return values;
}

const HOSTS = ["127.0.0.1", "localhost", "[::1]"];

/** A browser leaves port 80 out: it is what http means (RFC 9110, 4.2.1). */
const namesOf = (port: number): string[] => [...HOSTS.map((host) => `${host}:${port}`), ...(port === 80 ? HOSTS : [])];
