import type { Plan, PlanEffect, PlanEvent } from "../../shared/plan.ts";
import type { FeedReading } from "../../shared/reading.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { initialState, type PlanState, wantedReadings } from "../../src/plan/machine/machine-state.ts";
import { outcomeOf } from "../../src/plan/machine/outcome.ts";

/** What hangs on one feed: amps at these volts, at this time since its output came on. */
export type Load = (volts: number, sinceOnMs: number, amps: number) => number;

export interface ModelFeed {
  farads: number;
  leadOhms: number;
  load: Load;
}

export interface BenchModelOptions {
  plan: Plan;
  feeds: Record<string, ModelFeed>;
  /** Time between readings of one feed. */
  intervalMs?: number;
  stepVolts?: number;
  stepAmps?: number;
  /** Without one the readings say "unknown". */
  saysMode?: boolean;
  riseMs?: number;
  answers?: boolean[];
  /** Events put in at a time, or in place of an answer to an effect. */
  at?: { ms: number; event: PlanEvent }[];
  spoil?: (effect: PlanEffect, atMs: number) => PlanEvent | "silence" | null;
  spoilReading?: (reading: FeedReading) => FeedReading | null;
  untilMs?: number;
}

interface Channel {
  on: boolean;
  onMs: number;
  setVolts: number;
  limitAmps: number;
  reference: number;
  volts: number;
  terminal: number;
  amps: number;
  limiting: boolean;
  joules: number;
  mostVolts: number;
}

export interface ModelRun {
  state: PlanState;
  outcome: ReturnType<typeof outcomeOf>;
  events: PlanEvent[];
  effects: { atMs: number; effect: PlanEffect }[];
  /** Energy into the board of each feed while it was set under 1 V. */
  touchJoules: Record<string, number>;
  endMs: number;
  channels: Record<string, Channel>;
}

const STEP_MS = 0.2;
/** Where hardly anything moves a step may be longer. */
const CALM_MS = 1;
const CALM_VOLTS = 0.002;

/**
 * A bench worked out in steps of 0.2 ms (1 ms where hardly anything moves): an ideal limited source that slews, leads, an input capacitor, a load. Effects are
 * answered one millisecond later, readings come at about their interval, ticks every 10 ms. Only the machine decides.
 */
export function runOnModel(options: BenchModelOptions): ModelRun {
  const {
    plan,
    intervalMs = 10,
    stepVolts = 0.001,
    stepAmps = 0.001,
    saysMode = true,
    riseMs = 10,
    untilMs = 120_000,
  } = options;
  const channels: Record<string, Channel> = {};
  for (const feed of Object.keys(options.feeds)) {
    channels[feed] = {
      on: false,
      onMs: 0,
      setVolts: 0,
      limitAmps: 0,
      reference: 0,
      volts: 0,
      terminal: 0,
      amps: 0,
      limiting: false,
      joules: 0,
      mostVolts: 0,
    };
  }
  const touchJoules: Record<string, number> = {};
  const events: PlanEvent[] = [];
  const effects: { atMs: number; effect: PlanEffect }[] = [];
  const pending: { ms: number; event: PlanEvent }[] = [
    { ms: 0, event: { event: "begin", atMs: 0, rules: 3 } },
    ...(options.at ?? []),
  ];
  const answers = [...(options.answers ?? [])];
  let state = initialState(plan);
  let finished = false;
  /** Volts the last step moved, of the feed that moved most. */
  let moved = 0;
  let nowMs = 0;

  const perform = (effect: PlanEffect): void => {
    effects.push({ atMs: nowMs, effect });
    const soon = nowMs + 1;
    const spoiled = options.spoil?.(effect, nowMs) ?? null;
    if (spoiled === "silence") return;
    if (spoiled !== null) {
      pending.push({ ms: soon, event: { ...spoiled, atMs: soon } });
      return;
    }
    switch (effect.effect) {
      case "configure": {
        const channel = channels[effect.feed];
        if (channel === undefined) return;
        channel.setVolts = effect.setting.volts;
        channel.limitAmps = effect.setting.limitAmps;
        pending.push({
          ms: soon,
          event: {
            event: "configured",
            atMs: soon,
            feed: effect.feed,
            setVolts: effect.setting.volts,
            limitAmps: effect.setting.limitAmps,
            overVolts: effect.setting.overVolts,
          },
        });
        return;
      }
      case "output-on":
      case "output-off": {
        moved = Number.POSITIVE_INFINITY;
        const channel = channels[effect.feed];
        if (channel === undefined) return;
        const on = effect.effect === "output-on";
        channel.on = on;
        if (on) channel.onMs = nowMs;
        pending.push({ ms: soon, event: { event: "output", atMs: soon, feed: effect.feed, state: on ? "on" : "off" } });
        return;
      }
      case "cut":
        for (const channel of Object.values(channels)) channel.on = false;
        pending.push({ ms: soon, event: { event: "cut-done", atMs: soon, output: "off", because: "read back" } });
        return;
      case "arm-over-current": {
        const channel = channels[effect.feed];
        const live = state.kind === "energised" ? state.energised.find((each) => each.feed === effect.feed) : undefined;
        if (channel === undefined || live === undefined) return;
        const { setVolts, limitAmps } = channel;
        const { overVolts } = live.setting;
        const { feed } = effect;
        pending.push({ ms: soon, event: { event: "configured", atMs: soon, feed, setVolts, limitAmps, overVolts } });
        return;
      }
      case "ask-raise":
      case "ask-manual": {
        const { question } = effect;
        pending.push({ ms: soon, event: { event: "answered", atMs: soon, question, yes: answers.shift() ?? false } });
        return;
      }
      case "ask-why":
        pending.push({
          ms: soon,
          event: { event: "why-off", atMs: soon, feed: effect.feed, protection: null, because: "a hand" },
        });
        return;
      case "finish":
        finished = true;
    }
  };

  const feedEvent = (event: PlanEvent): void => {
    const result = advance(plan, state, event);
    if (event.event !== "tick" || result.state !== state || result.effects.length > 0) events.push(event);
    state = result.state;
    for (const effect of result.effects) perform(effect);
  };

  const physics = (stepMs: number): number => {
    let moved = 0;
    for (const [name, channel] of Object.entries(channels)) {
      const model = options.feeds[name];
      if (model === undefined || (!channel.on && channel.volts === 0)) continue;
      const rise = (12 / riseMs) * stepMs;
      channel.reference = channel.on
        ? Math.min(channel.setVolts, Math.max(channel.reference, channel.volts) + rise)
        : 0;
      const drawn = model.load(channel.volts, nowMs - channel.onMs, channel.amps);
      // Implicit in the lead and the capacitor, so that the step need not be shorter than their time constant.
      const seconds = stepMs / 1000;
      const before = channel.volts;
      const free =
        (channel.reference - (channel.volts - (drawn * seconds) / model.farads)) /
        (model.leadOhms + seconds / model.farads);
      channel.limiting = channel.on && free > channel.limitAmps;
      channel.amps = channel.on ? Math.max(0, Math.min(free, channel.limitAmps)) : 0;
      const bleed = channel.on ? 0 : channel.volts / 200;
      channel.volts = Math.max(0, channel.volts + ((channel.amps - drawn - bleed) * seconds) / model.farads);
      moved = Math.max(moved, Math.abs(channel.volts - before), channel.on ? channel.setVolts - channel.reference : 0);
      if (!channel.on && channel.volts < 1e-4) channel.volts = 0;
      channel.terminal = channel.volts + channel.amps * model.leadOhms;
      channel.joules += channel.volts * channel.amps * seconds;
      if (channel.on && channel.setVolts < 1)
        touchJoules[name] = (touchJoules[name] ?? 0) + channel.volts * channel.amps * seconds;
      channel.mostVolts = Math.max(channel.mostVolts, channel.volts);
    }
    return moved;
  };

  const read = (feed: string): FeedReading => {
    const channel = channels[feed];
    const volts = Math.round((channel?.terminal ?? 0) / stepVolts) * stepVolts;
    const amps = Math.round((channel?.amps ?? 0) / stepAmps) * stepAmps;
    return {
      feed,
      queriedAtMs: nowMs - Math.min(1, intervalMs / 10),
      atMs: nowMs,
      volts: { kind: "value", volts },
      amps: { kind: "value", amps },
      mode: saysMode ? (channel?.limiting === true ? "cc" : "cv") : "unknown",
      together: true,
    };
  };

  // Readings come up to a tenth early or late, so that none falls into step with what it should see; always the same ones.
  let seed = 1;
  const jitter = (): number => {
    seed = (seed * 48_271) % 2_147_483_647;
    return 0.9 + (0.2 * seed) / 2_147_483_647;
  };
  const nextRead: Record<string, number> = {};
  let wanted: ReturnType<typeof wantedReadings> = [];
  let wantedFor: PlanState | null = null;
  let tickMs = 0;
  while (!finished && nowMs < untilMs) {
    // With everything off and discharged nothing moves: time may go in larger steps.
    const quiet = Object.values(channels).every((each) => !each.on && each.volts === 0);
    const stepMs = quiet || moved < CALM_VOLTS ? CALM_MS : STEP_MS;
    nowMs += stepMs;
    moved = quiet ? 0 : physics(stepMs);
    const due = pending.length === 0 ? [] : pending.filter((each) => each.ms <= nowMs).sort((a, b) => a.ms - b.ms);
    for (const each of due) {
      pending.splice(pending.indexOf(each), 1);
      feedEvent({ ...each.event, atMs: nowMs });
      if (finished) break;
    }
    if (finished) break;
    if (state !== wantedFor) {
      wanted = wantedReadings(plan, state);
      wantedFor = state;
    }
    for (const { feed, everyNth } of wanted) {
      if (nowMs < (nextRead[feed] ?? 0)) continue;
      nextRead[feed] = nowMs + intervalMs * everyNth * jitter();
      const raw = read(feed);
      const reading = options.spoilReading === undefined ? raw : options.spoilReading(raw);
      if (reading !== null) feedEvent({ event: "reading", atMs: nowMs, reading });
    }
    if (nowMs >= tickMs) {
      tickMs = nowMs + 10;
      feedEvent({ event: "tick", atMs: nowMs });
    }
  }
  return { state, outcome: outcomeOf(state), events, effects, touchJoules, endMs: nowMs, channels };
}

/** A resistor to ground. */
export const resistor =
  (ohms: number): Load =>
  (volts) =>
    volts / ohms;

/** A forward junction with a little resistance in series. */
export const junctionLoad =
  (volts: number, ohms: number): Load =>
  (at) =>
    Math.max(0, (at - volts) / ohms);

/** A converter: constant power above its lock-out, with hysteresis, `afterMs` after it was passed. */
export function converter(watts: number, lockOut: [number, number], afterMs = 2): Load {
  let running = false;
  let passedMs = Number.NaN;
  return (volts, sinceOnMs) => {
    if (volts < lockOut[1]) {
      running = false;
      passedMs = Number.NaN;
    } else if (volts >= lockOut[0] && !running) {
      if (Number.isNaN(passedMs)) passedMs = sinceOnMs;
      running = sinceOnMs - passedMs >= afterMs;
    }
    return running ? watts / Math.max(volts, 1) : volts / 12_000;
  };
}

/** Several loads on one feed. */
export const together =
  (...loads: Load[]): Load =>
  (volts, sinceOnMs, amps) =>
    loads.reduce((sum, load) => sum + load(volts, sinceOnMs, amps), 0);
