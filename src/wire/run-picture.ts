import type { DrawBaseline } from "../../shared/draw-baseline.ts";
import type { Plan, RunOutcome, StageName } from "../../shared/plan.ts";
import type { WireRun, WireStage, WireStageFeed } from "../../shared/wire.ts";

/** The account of a run of itself while it goes on; times are the run's, milliseconds. */
export interface PictureProgress {
  atMs: number;
  stage: StageName;
  feed: string | null;
  waitingFor: string;
  waitedMs: number;
  expectedMs: number | null;
  energised: string[];
}

/** A run that has not begun, as the page draws it: every stage of the plan with the limits that will be in force. */
export function runPicture(
  plan: Plan,
  of: { run: string; job: string | null; startedAt: string },
  baseline?: DrawBaseline,
): WireRun {
  const feeds = plan.feeds.toSorted((a, b) => a.order - b.order);
  const off = { volts: 0, limitAmps: 0, overVolts: 0, maxMs: 0 };
  const stage = (
    name: StageName,
    setting: (
      feed: Plan["feeds"][number],
    ) => Omit<WireStageFeed, "feed" | "state" | "startedAtMs" | "endedAtMs"> | null,
  ): WireStage => {
    const each = feeds.map((feed): WireStageFeed => {
      const asked = setting(feed);
      return {
        feed: feed.feed,
        state: asked === null ? "skipped" : "waiting",
        ...(asked ?? off),
        startedAtMs: null,
        endedAtMs: null,
      };
    });
    return { stage: name, state: each.every((feed) => feed.state === "skipped") ? "skipped" : "waiting", feeds: each };
  };
  return {
    ...of,
    plan: plan.name,
    settings: [],
    stages: [
      stage("check", () => off),
      stage("touch", (feed) => feed.touch),
      stage("hold-low", (feed) => feed.holdLow),
      stage("rise", (feed) => ({ ...feed.nominal, maxMs: feed.allowedLimitingMs })),
      stage("watch", (feed) => ({ ...feed.nominal, maxMs: plan.watch.seconds * 1000 })),
      stage("off", () => off),
    ],
    stage: "check",
    feed: null,
    waitingFor: "",
    waitedMs: 0,
    expectedMs: null,
    energised: [],
    outcome: null,
    ...(baseline?.band == null
      ? {}
      : {
          goodBoards: {
            of: baseline.of,
            lowAmps: baseline.band[0],
            highAmps: baseline.band[1],
            boards: baseline.boards,
          },
        }),
  };
}

/**
 * The picture after some progress. A stage that is left is clean; `feed: null` speaks of all feeds of the stage at once.
 * Limits stay as planned; a raised limit is handed in as `limitAmps` of its feed.
 */
export function pictureAt(run: WireRun, progress: PictureProgress, limitAmps: Record<string, number> = {}): WireRun {
  const names = run.stages.map((stage) => stage.stage);
  const now = names.indexOf(progress.stage);
  const order = run.stages[now]?.feeds.map((feed) => feed.feed) ?? [];
  // The watch is of all feeds at once, whichever it waits for.
  const present = progress.feed === null || progress.stage === "watch" ? -1 : order.indexOf(progress.feed);
  const stages = run.stages.map((stage, index): WireStage => {
    const feeds = stage.feeds.map((feed, position): WireStageFeed => {
      const limited = {
        ...feed,
        limitAmps:
          stage.stage === "rise" || stage.stage === "watch" ? (limitAmps[feed.feed] ?? feed.limitAmps) : feed.limitAmps,
      };
      if (feed.state === "skipped" || feed.state === "stopped") return limited;
      if (index < now) return left(limited, progress.atMs);
      if (feed.state === "clean") return limited;
      if (index === now && present > position) {
        // A feed that has risen stays on, under the same limits, while the next ones rise.
        return stage.stage === "rise" ? { ...limited, state: "clean" } : left(limited, progress.atMs);
      }
      if (index === now && (present === -1 || present === position)) {
        return { ...limited, state: "running", startedAtMs: feed.startedAtMs ?? progress.atMs };
      }
      return limited;
    });
    return {
      ...stage,
      feeds,
      state: stateOf(stage, feeds, index < now ? "left" : index === now ? "present" : "ahead"),
    };
  });
  const { stage, feed, waitingFor, waitedMs, expectedMs, energised } = progress;
  return { ...run, stages, stage, feed, waitingFor, waitedMs, expectedMs, energised };
}

/** The picture of a run that ended: what was running is clean where it went as planned, and stopped where it did not. */
export function pictureEnded(run: WireRun, outcome: RunOutcome, atMs: number): WireRun {
  const stopped = outcome.ended !== "as-planned";
  const reached = outcome.trip?.stage ?? outcome.reachedStage;
  const stages = run.stages.map((stage): WireStage => {
    const feeds = stage.feeds.map((feed): WireStageFeed => {
      const ended = { ...feed, endedAtMs: feed.startedAtMs === null ? null : (feed.endedAtMs ?? atMs) };
      const here = stopped && stage.stage === reached && feed.feed === outcome.trip?.feed;
      if (feed.state !== "running" && !here) return ended;
      return { ...ended, state: stopped ? "stopped" : "clean" };
    });
    if (stopped && stage.stage === reached) return { ...stage, feeds, state: "stopped" };
    if (stage.stage === "off" && outcome.output === "off") return { ...stage, feeds, state: "clean" };
    return { ...stage, feeds, state: stage.state === "running" ? (stopped ? "stopped" : "clean") : stage.state };
  });
  return {
    ...run,
    stages,
    outcome,
    waitingFor: "",
    expectedMs: null,
    energised: outcome.output === "off" ? [] : run.energised,
  };
}

const left = (feed: WireStageFeed, atMs: number): WireStageFeed => ({
  ...feed,
  // A stage that was never seen running was passed between two messages.
  state: "clean",
  endedAtMs: feed.startedAtMs === null ? null : (feed.endedAtMs ?? atMs),
});

function stateOf(stage: WireStage, feeds: WireStageFeed[], where: "left" | "present" | "ahead"): WireStage["state"] {
  if (stage.state === "skipped" || stage.state === "stopped") return stage.state;
  if (where === "ahead") return feeds.every((feed) => feed.state === "clean") ? "clean" : "waiting";
  return where === "left" ? "clean" : "running";
}
