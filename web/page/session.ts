const KEPT = "firstamp-bearer";

/** The subprotocols that carry the bearer of this page to the live socket, which can be given no header. */
export const liveProtocols = (): string[] => ["firstamp", `firstamp-bearer.${sessionStorage.getItem(KEPT) ?? ""}`];

/** A request to the daemon under this page's session. Browsers keep the bearer for this tab and this port alone. */
export const askDaemon = (path: string, init: RequestInit = {}): Promise<Response> => {
  const headers = new Headers(init.headers);
  headers.set("authorization", `Bearer ${sessionStorage.getItem(KEPT) ?? ""}`);
  return fetch(path, { cache: "no-store", ...init, headers });
};

export const postJson = (path: string, body: unknown): Promise<Response> =>
  askDaemon(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  });

/** Opens a session with the one-time code of the address, in place of the one this tab had. A used code changes nothing. */
export async function openSession(code: string): Promise<void> {
  const reply = await postJson("/api/session", { code });
  if (!reply.ok) return;
  const { bearer } = (await reply.json()) as { bearer: string };
  sessionStorage.setItem(KEPT, bearer);
}

/** A session as the daemon lists it; times are wall clock. */
export interface ListedSession {
  session: string;
  name: string;
  mayOperate: boolean;
  openedAt: string | null;
  lastSeenAt: string;
}

/** The sessions that the daemon knows, and the way to end one. */
export const sessions = {
  async list(): Promise<{ sessions: ListedSession[]; own: string } | null> {
    const [all, own] = await Promise.all([askDaemon("/api/sessions"), askDaemon("/api/session")]);
    if (!all.ok || !own.ok) return null;
    const { sessions: listed } = (await all.json()) as { sessions: ListedSession[] };
    return { sessions: listed, own: ((await own.json()) as { session: string }).session };
  },
  end: async (session: string): Promise<boolean> => (await postJson(`/api/sessions/${session}/end`, {})).ok,
};
