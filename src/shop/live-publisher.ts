import type { SharedShop } from "../../shared/files/shop-settings.ts";
import type { LiveFeeds, LiveKind, LiveRun, LiveState, ShopLive } from "../../shared/shop-live.ts";
import type { WireDown, WireFeedFrame, WireRun } from "../../shared/wire.ts";
import { openBroker, topicOf } from "./live-connection.ts";

/** Of the figures, one in so long is sent. */
const FEEDS_MS = 100;
/** A bench that has nothing new to say says that it is there. */
const STATE_MS = 5000;
/** At the end of a command a broker that does not answer holds nobody up for longer, milliseconds. */
const LAST_WORD_MS = 1500;

export interface LivePublisher {
  /** Sends on what the page is told, as far as it is for other benches to look at. Never waits and never throws. */
  take(message: WireDown): void;
  close(): Promise<void>;
}

export interface LivePublisherOptions {
  shop: SharedShop & { live: string };
  /** Wall clock, and how often the state is sent, milliseconds. */
  nowMs?: () => number;
  stateMs?: number;
}

/**
 * Tells the shop what this bench does. The broker says "gone" by itself when the bench is no longer there. A broker that is
 * away is no trouble: what is live is not kept for it.
 */
export function publishLive({ shop, nowMs = Date.now, stateMs = STATE_MS }: LivePublisherOptions): LivePublisher {
  const gone: LiveState = { is: "gone" };
  const topic = (kind: LiveKind) => topicOf(shop.shop, shop.bench, kind);
  const client = openBroker(shop.live, {
    will: { topic: topic("state"), payload: Buffer.from(JSON.stringify(gone)), qos: 1, retain: true },
  });
  const outputs = new Map<string, WireFeedFrame>();
  let run: WireRun | null = null;
  let feedsSentAt = Number.NEGATIVE_INFINITY;
  let lastState = "";

  const send = <K extends LiveKind>(kind: K, message: ShopLive[K]): void => {
    // Nothing is kept for a broker that is away: what is old by then is of no use to anybody.
    if (!client.connected) return;
    const kept = kind !== "feeds";
    client.publish(topic(kind), JSON.stringify(message), { qos: kept ? 1 : 0, retain: kept }, () => undefined);
  };
  const stateNow = (): Extract<LiveState, { is: "here" }> => {
    const all = [...outputs.values()].map((each) => each.output);
    const isUnder = run !== null && run.outcome === null;
    return {
      is: "here",
      sentAtMs: nowMs(),
      output: all.includes("on") ? "on" : all.includes("unknown") ? "unknown" : "off",
      job: cut(run?.job ?? null),
      stage: isUnder ? (run?.stage ?? null) : null,
      waitingFor: isUnder ? cut(run?.waitingFor ?? null) : null,
    };
  };
  const sendState = (always: boolean): void => {
    const state = stateNow();
    const said = JSON.stringify({ ...state, sentAtMs: 0 });
    if (!always && said === lastState) return;
    if (client.connected) lastState = said;
    send("state", state);
  };
  client.on("connect", () => sendState(true));
  const beat = setInterval(() => sendState(true), stateMs);
  beat.unref();

  return {
    take(message) {
      switch (message.type) {
        case "frame":
          for (const each of message.feeds) outputs.set(each.feed, each);
          if (nowMs() - feedsSentAt >= FEEDS_MS) {
            feedsSentAt = nowMs();
            send("feeds", { sentAtMs: feedsSentAt, feeds: [...outputs.values()].map(figuresOf).slice(0, 32) });
          }
          break;
        case "bench":
          for (const { feed, output } of message.bench.feeds) {
            if (!outputs.has(feed)) outputs.set(feed, { feed, output, ageMs: null, readings: [] });
          }
          break;
        case "run-state":
          run = message.run;
          send("run", runOf(run, nowMs()));
          break;
        case "verdict":
          send("verdict", {
            sentAtMs: nowMs(),
            run: message.verdict.run,
            job: message.verdict.job,
            class: message.verdict.verdict.class,
          });
          break;
      }
      sendState(false);
    },
    async close() {
      clearInterval(beat);
      if (client.connected) {
        const said = client.publishAsync(topic("state"), JSON.stringify(gone), { qos: 1, retain: true });
        // A message that the network swallows is never answered; the broker then says it by itself.
        await Promise.race([said.catch(() => undefined), lateAfter(LAST_WORD_MS)]);
      }
      await Promise.race([client.endAsync(true).catch(() => undefined), lateAfter(LAST_WORD_MS)]);
    },
  };
}

const lateAfter = (ms: number): Promise<void> =>
  new Promise((resolve) => {
    setTimeout(resolve, ms).unref();
  });

const cut = (text: string | null): string | null => text?.slice(0, 200) ?? null;

function figuresOf({ feed, output, ageMs, readings }: WireFeedFrame): LiveFeeds["feeds"][number] {
  const last = readings.at(-1);
  return {
    feed: feed.slice(0, 200),
    output,
    volts: last?.volts.kind === "value" ? last.volts.volts : null,
    amps: last?.amps.kind === "value" ? last.amps.amps : null,
    ageMs,
  };
}

const runOf = (run: WireRun, sentAtMs: number): LiveRun => ({
  sentAtMs,
  run: run.run,
  job: run.job,
  stage: run.stage,
  energised: run.energised.slice(0, 32),
  ended: run.outcome?.ended ?? null,
});
