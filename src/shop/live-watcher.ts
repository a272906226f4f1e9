import type { SharedShop } from "../../shared/files/shop-settings.ts";
import { LIVE_KINDS, type LiveKind, ShopLive } from "../../shared/shop-live.ts";
import { openBroker, topicOf } from "./live-connection.ts";
import { whyAway } from "./shop-trouble.ts";

/** The live knowledge of one bench; `ageMs` is counted here, from when the bench said it by its own clock. */
export interface LiveBench {
  bench: string;
  state: (ShopLive["state"] & { ageMs: number | null }) | null;
  feeds: (ShopLive["feeds"] & { ageMs: number }) | null;
  run: (ShopLive["run"] & { ageMs: number }) | null;
  verdict: (ShopLive["verdict"] & { ageMs: number }) | null;
}

export interface LiveWatcher {
  /** Whether the broker is reached, and why not, in words. */
  readonly connection: { reachable: boolean; because: string | null };
  /** Messages that were none of a bench's, and those that came faster than they can be meant. */
  readonly ignored: number;
  benches(): LiveBench[];
  /** Settles when the broker has been reached, or could not be. */
  readonly tried: Promise<void>;
  close(): Promise<void>;
}

export interface LiveWatcherOptions {
  shop: SharedShop & { live: string };
  /** Told of each bench of which something new came. */
  onChange?: (bench: string, kind: LiveKind) => void;
  /** Told when the broker is reached, and when it no longer is. */
  onConnection?: () => void;
  nowMs?: () => number;
  /** Messages a second beyond which the broker is not listened to for `quietMs`. Defaults 500 and 30 s. */
  mostASecond?: number;
  quietMs?: number;
}

/** More benches than a shop has; whatever names more is not listened to. */
const MOST_BENCHES = 64;
const BENCH = /^[a-z0-9-]{1,40}$/;

interface Heard {
  messages: Partial<ShopLive>;
  /** The least difference between this clock and the bench's that a message showed: the clocks' own, and the shortest way. */
  clockOffMs: number | null;
}

/**
 * Looks at what the benches of a shop publish. Nothing that comes is trusted: what is too large stays at the broker, what is no
 * message of a bench is counted and dropped, and a flood is not listened to. Nothing that comes does anything but be shown.
 */
export function watchLive(options: LiveWatcherOptions): LiveWatcher {
  const { shop, onChange, onConnection, nowMs = Date.now, mostASecond = 500, quietMs = 30_000 } = options;
  const heard = new Map<string, Heard>();
  const client = openBroker(shop.live);
  const connection = { reachable: false, because: null as string | null };
  const topics = LIVE_KINDS.map((kind) => topicOf(shop.shop, "+", kind));
  let ignored = 0;
  let secondBegan = nowMs();
  let inSecond = 0;
  let resume: NodeJS.Timeout | undefined;
  let settle: () => void = () => undefined;
  const tried = new Promise<void>((resolve) => {
    settle = resolve;
  });

  client.on("connect", () => {
    client.subscribe(topics, { qos: 1 }, (error) => {
      connection.reachable = error === null;
      connection.because = error === null ? null : whyAway(error);
      settle();
      onConnection?.();
    });
  });
  client.on("error", (error) => {
    connection.because = whyAway(error);
  });
  client.on("close", () => {
    connection.reachable = false;
    connection.because ??= "the broker does not answer";
    settle();
    onConnection?.();
  });

  const floods = (): boolean => {
    const now = nowMs();
    if (now - secondBegan >= 1000) {
      secondBegan = now;
      inSecond = 0;
    }
    inSecond++;
    if (inSecond <= mostASecond) return false;
    if (resume === undefined) {
      connection.because = "the broker sends too much; it is ignored for a while";
      connection.reachable = false;
      client.stream.destroy();
      client.options.reconnectPeriod = quietMs;
      resume = setTimeout(() => {
        resume = undefined;
        client.options.reconnectPeriod = 5000;
      }, quietMs);
      resume.unref();
    }
    return true;
  };

  client.on("message", (topic, payload, { retain }) => {
    if (floods()) {
      ignored++;
      return;
    }
    const [bench, kind] = topic.split("/").slice(-2);
    const message = kind === undefined || bench === undefined || !BENCH.test(bench) ? null : parsed(kind, payload);
    if (message === null || bench === undefined) {
      ignored++;
      return;
    }
    let known = heard.get(bench);
    if (known === undefined) {
      if (heard.size >= MOST_BENCHES) {
        ignored++;
        return;
      }
      known = { messages: {}, clockOffMs: null };
      heard.set(bench, known);
    }
    Object.assign(known.messages, message);
    const [said] = Object.values(message);
    // A kept message of the broker may have any age; only one that is passed on at once shows how far the clocks are apart.
    if (!retain && said !== undefined && "sentAtMs" in said) {
      const off = nowMs() - said.sentAtMs;
      known.clockOffMs = known.clockOffMs === null ? off : Math.min(known.clockOffMs, off);
    }
    onChange?.(bench, kind as LiveKind);
  });

  return {
    connection,
    get ignored() {
      return ignored;
    },
    tried,
    benches: () =>
      [...heard].map(([bench, known]) => liveBench(bench, known, nowMs())).sort((a, b) => (a.bench < b.bench ? -1 : 1)),
    async close() {
      clearTimeout(resume);
      await client.endAsync(true).catch(() => undefined);
    },
  };
}

/** A payload as the message of its kind; null if it is not one. */
function parsed(kind: string, payload: Buffer): Partial<ShopLive> | null {
  const schema = Object.entries(ShopLive.shape).find(([name]) => name === kind)?.[1];
  if (schema === undefined || payload.length === 0) return null;
  try {
    const result = schema.safeParse(JSON.parse(payload.toString("utf8")));
    return result.success ? { [kind]: result.data } : null;
  } catch {
    return null;
  }
}

function liveBench(bench: string, { messages, clockOffMs }: Heard, nowMs: number): LiveBench {
  const ageOf = (sentAtMs: number): number => Math.max(0, nowMs - sentAtMs - (clockOffMs ?? 0));
  const aged = <T extends { sentAtMs: number }>(message: T | undefined) =>
    message === undefined ? null : { ...message, ageMs: ageOf(message.sentAtMs) };
  const { state } = messages;
  return {
    bench,
    state: state === undefined ? null : { ...state, ageMs: state.is === "here" ? ageOf(state.sentAtMs) : null },
    feeds: aged(messages.feeds),
    run: aged(messages.run),
    verdict: aged(messages.verdict),
  };
}
