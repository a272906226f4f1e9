import { BenchError } from "../../shared/bench-error.ts";
import { wholeHundredths } from "../../shared/clock.ts";
import type { Plan, PlanEffect, PlanEvent, RunOutcome } from "../../shared/plan.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Supply } from "../instrument/supply.ts";
import { advance } from "../plan/machine/advance.ts";
import { energisedFeeds, initialState, type PlanState } from "../plan/machine/machine-state.ts";
import { outcomeOf } from "../plan/machine/outcome.ts";
import { type Polling, pollSupply } from "../reading/poll-supply.ts";
import { type Outputs, outputsOf } from "./cut-lane.ts";
import { PanelWatch } from "./panel-watch.ts";
import type { PlanRunnerOptions } from "./plan-runner-options.ts";
import { ReadingTargets } from "./reading-targets.ts";
import { SupplyEffects } from "./supply-effects.ts";
import { prepareSupplies, releaseSupplies, watchRestarts } from "./supply-layers.ts";

const TICK_MS = 10;
/** The interval at which a supply is read that the plan does not use. */
const WATCHED_ROUND_MS = 50;
/** A gap in our own time longer than this is a suspended or stopped process: off first, questions later. */
const GAP_MS = 2000;

/**
 * Runs a plan from its request to the proved off: feeds events to the pure machine, in one synchronous turn each, and
 * performs its effects. A cut is written in the turn of the event that asked for it. Nothing here decides; everything that
 * does is in `src/plan`. It listens from the moment it is made, so that a stop, a cut or an answer always has a machine to
 * go to.
 */
export class PlanRunner {
  readonly #options: PlanRunnerOptions;
  readonly #zeroMs: number;
  readonly #outputs: Outputs;
  readonly #pollings: Polling[] = [];
  readonly #panel = new PanelWatch();
  readonly #targets: ReadingTargets;
  readonly #supplyEffects: SupplyEffects;
  #state: PlanState;
  #lastTurnMs: number;
  #cutting = false;
  #begun = false;
  #ended = false;
  #isOver = false;
  /** Why the run could not begin. */
  #refusal: unknown;
  /** The messages under way that make the supplies ready; settles, whatever came of it. */
  #madeReady: Promise<void> = Promise.resolve();
  /** Settles when the run is over and its supplies were told so. */
  readonly ended: Promise<void>;
  #settleEnded: () => void = () => {};
  #stopTicks: () => void = () => {};
  /** Ends what it listens to. */
  readonly #stops: (() => void)[] = [];

  constructor(options: PlanRunnerOptions) {
    this.#options = options;
    this.ended = new Promise((resolve) => {
      this.#settleEnded = resolve;
    });
    this.#state = initialState(options.plan);
    this.#targets = new ReadingTargets(options.plan, options.sources, this.#state);
    this.#zeroMs = options.clock.nowMs();
    this.#lastTurnMs = this.#zeroMs;
    this.#outputs = outputsOf(options.sources.values());
    this.#supplyEffects = new SupplyEffects({
      ...options,
      panel: this.#panel,
      arm: () => this.#arm(),
      atMs: () => this.atMs,
      dispatch: (event) => this.dispatch(event),
      hasEnded: () => this.#ended,
    });
    this.#listen();
  }

  get plan(): Plan {
    return this.#options.plan;
  }

  get state(): PlanState {
    return this.#state;
  }

  /** True once everything was ready and the plan went on from there. */
  get hasBegun(): boolean {
    return this.#begun;
  }

  /** The plan does nothing more. */
  get hasEnded(): boolean {
    return this.#ended;
  }

  /** The outputs were looked at once more, and the end was said: another run may follow. */
  get isOver(): boolean {
    return this.#isOver;
  }

  /** Milliseconds since the run was asked for. */
  get atMs(): number {
    return wholeHundredths(this.#options.clock.nowMs() - this.#zeroMs);
  }

  /**
   * Makes the guardian and the supplies' own protections ready, with nothing on, then begins the plan, where it is ready
   * before `deadlineMs` and nothing came in between. Answers why it could not be made ready; undefined where it begins,
   * or was ended meanwhile. Never throws.
   */
  async begin(deadlineMs: number): Promise<unknown> {
    const { clock } = this.#options;
    try {
      await this.#options.leaveCold();
      // A guardian that is still starting up is waited for here, where nothing is on, not between two stages.
      if (this.#isPreparing()) await this.#arm();
      if (this.#isPreparing()) {
        const made = prepareSupplies(this.#outputs, this.#options.plan);
        this.#madeReady = made.catch(() => {});
        await made;
      }
      if (this.#isPreparing() && clock.nowMs() > deadlineMs)
        throw new BenchError(
          "write-late",
          "Cannot run: the preparation took longer than its deadline; nothing was energised",
        );
    } catch (cause) {
      if (!this.#isPreparing()) return undefined;
      this.#refusal = cause;
      this.dispatch({ event: "failed", atMs: this.atMs, feed: null, because: messageOf(cause) });
      return cause;
    }
    if (this.#isPreparing()) this.#start();
    return undefined;
  }

  #isPreparing(): boolean {
    return this.#state.kind === "preparing";
  }

  #listen(): void {
    const { guardian, clock } = this.#options;
    for (const supply of this.#outputs.keys()) {
      this.#stops.push(
        supply.onLost((why) =>
          this.dispatch({ event: "link-lost", atMs: this.atMs, instrument: supply.name, because: why.message }),
        ),
      );
    }
    const guardianLost = (because: string): void => this.dispatch({ event: "guardian-lost", atMs: this.atMs, because });
    if (guardian !== null) this.#stops.push(guardian.onLost(guardianLost));
    const tick = (): void => {
      if (this.#ended) return;
      this.#stopTicks = clock.after(TICK_MS, tick);
      this.dispatch({ event: "tick", atMs: this.atMs });
    };
    this.#stopTicks = clock.after(TICK_MS, tick);
  }

  #start(): void {
    const { clock } = this.#options;
    this.#begun = true;
    this.#expectOff();
    for (const supply of this.#outputs.keys()) this.#pollings.push(this.#poll(supply));
    this.#stops.push(
      watchRestarts(this.#outputs, clock, {
        onRestarted: (supply) =>
          this.dispatch({
            event: "front-panel",
            atMs: this.atMs,
            feed: this.#feedOf(supply),
            because: `${supply.name} was switched off and on again and has lost its settings`,
          }),
        // The energy of a look below 1 V is counted by its readings: no other question may come between two of them.
        mayAsk: () => this.#state.ledger.stage !== "touch",
      }),
    );
    this.dispatch({ event: "begin", atMs: this.atMs, rules: 3 });
  }

  /** Off at once, whatever the machine thinks: written in this turn, then told to the machine. */
  cut(by: string): void {
    if (this.#ended) return;
    this.#cutNow();
    this.dispatch({ event: "stop", atMs: this.atMs, by });
  }

  /** A person's answer to the question of this number. */
  answer(question: number, yes: boolean): void {
    this.dispatch({ event: "answered", atMs: this.atMs, question, yes });
  }

  #cutNow(): void {
    const { epoch, cutLane, clock } = this.#options;
    epoch.raise();
    cutLane.now(this.#outputs);
    for (const [supply, channels] of this.#outputs)
      for (const channel of channels) this.#panel.cut(supply, channel, clock.nowMs());
  }

  #expectOff(): void {
    for (const [supply, channels] of this.#outputs)
      for (const channel of channels) this.#panel.output(supply, channel, "off", this.#options.clock.nowMs());
  }

  dispatch(event: PlanEvent): void {
    if (this.#ended) return;
    const gapMs = this.#options.clock.nowMs() - this.#lastTurnMs;
    this.#lastTurnMs = this.#options.clock.nowMs();
    if (gapMs > GAP_MS && energisedFeeds(this.#state).length > 0) {
      this.#turn({ event: "clock-gap", atMs: this.atMs, gapMs });
    }
    this.#turn(event);
  }

  #turn(event: PlanEvent): void {
    const { state, effects } = advance(this.#options.plan, this.#state, event);
    const changed = state !== this.#state || effects.length > 0;
    this.#state = state;
    const cuts = effects.some((each) => each.effect === "cut");
    // The cut goes out before anything is recorded: nothing stands between a bad reading and the wire.
    if (cuts) this.#cutNow();
    if (changed || event.event !== "tick") this.#options.onEvent(event, state);
    this.#targets.follow(state);
    for (const effect of effects) this.#perform(effect);
    // Behind the question why, which is worth less the later it is asked.
    if (cuts) void this.#proveCut();
    for (const polling of this.#pollings) polling.wake();
  }

  #perform(effect: PlanEffect): void {
    const { onQuestion } = this.#options;
    switch (effect.effect) {
      case "cut":
        return;
      case "finish":
        void this.#finish();
        return;
      case "ask-why":
        void this.#askWhy(effect.feed);
        return;
      case "ask-raise": {
        const { question, feed, fromAmps, toAmps, because } = effect;
        onQuestion({ question, asks: "raise-limit", feed, fromAmps, toAmps, because });
        return;
      }
      case "ask-manual": {
        const { question, feed, wanted } = effect;
        const because = `feed "${feed}" is switched by hand, so the program cannot cut it`;
        onQuestion({ question, asks: `manual-${wanted}`, feed, fromAmps: null, toAmps: null, because });
        return;
      }
      default:
        this.#supplyEffects.perform(effect).catch((cause: unknown) => {
          const [atMs, because] = [this.atMs, messageOf(cause)];
          const refused = cause instanceof BenchError && cause.code === "setting-refused";
          this.dispatch(
            refused
              ? { event: "refused", atMs, feed: effect.feed, because }
              : { event: "failed", atMs, feed: effect.feed, because },
          );
        });
    }
  }

  /** Hands the guardian the bytes that switch this run's outputs off; settles when it holds them. */
  async #arm(): Promise<void> {
    const { guardian } = this.#options;
    if (guardian === null) return;
    await guardian.arm(
      this.#options.record,
      [...this.#outputs].map(([supply, channels]) => ({
        name: supply.name,
        address: supply.address,
        serial: { ...supply.serial },
        ...supply.offBytes([...channels]),
      })),
    );
  }

  async #proveCut(): Promise<void> {
    if (this.#cutting) return;
    this.#cutting = true;
    // A message that makes a supply ready must not come behind the proof.
    await this.#madeReady;
    const result = await this.#options.cutLane.prove(this.#outputs);
    this.#cutting = false;
    if (result.output === "off") this.#expectOff();
    this.dispatch({ event: "cut-done", atMs: this.atMs, output: result.output, because: result.because });
  }

  async #finish(): Promise<void> {
    if (this.#ended) return;
    this.#ended = true;
    this.#stopTicks();
    for (const stop of this.#stops) stop();
    for (const polling of this.#pollings) polling.stop();
    for (const [supply] of this.#outputs) supply.energised = false;
    const outcome = await this.#lookedAt(outcomeOf(this.#state));
    if (outcome.output === "off") {
      this.#options.guardian?.disarm();
      await releaseSupplies(this.#outputs);
    }
    this.#isOver = true;
    this.#options.onEnded(outcome, this.#refusal);
    this.#settleEnded();
  }

  /**
   * Off is said of every output of the bench, not only of those the plan switched: at the end all are asked once more, since a
   * hand may have switched one on after it was proved off, and what is on is cut.
   */
  async #lookedAt(outcome: RunOutcome): Promise<RunOutcome> {
    const { cutLane } = this.#options;
    if (!this.#begun || outcome.output !== "off") return outcome;
    const seen = await cutLane.look(this.#outputs);
    if (seen.output === "off") return outcome;
    this.#cutNow();
    const { output } = await cutLane.prove(this.#outputs);
    const cut = `an output was not off at the end of the run (${seen.because}); everything was cut`;
    return { ...outcome, output, note: outcome.note === undefined ? cut : `${outcome.note}; ${cut}` };
  }

  #feedOf(supply: Supply): string {
    return [...this.#options.sources].find(([, each]) => each.supply === supply)?.[0] ?? supply.name;
  }

  /** Asks a supply whether its own protection or a hand switched an output off; what it does not say, time decides. */
  async #askWhy(feed: string): Promise<void> {
    const source = this.#options.sources.get(feed);
    if (source === undefined) return;
    const { supply, channel } = source;
    try {
      const protection = await supply.trippedBy(channel);
      const restarted = protection === null && (await supply.hasRestarted());
      const because = restarted ? `${supply.name} was switched off and on again` : "its output was switched off";
      this.dispatch({ event: "why-off", atMs: this.atMs, feed, protection, because });
    } catch (cause) {
      if (!(cause instanceof BenchError)) throw cause;
    }
  }

  #poll(supply: Supply): Polling {
    const { sources, plan, clock } = this.#options;
    const isPlanned = plan.feeds.some((each) => each.supply === supply.name);
    return pollSupply({
      supply,
      clock,
      // One that is only kept watch over must not take the processor's time from the others.
      leastRoundMs: isPlanned ? 0 : WATCHED_ROUND_MS,
      zeroMs: () => this.#zeroMs,
      targets: () => this.#targets.of(supply),
      onReading: (reading, panel) => {
        const { feed } = reading;
        const source = sources.get(feed);
        if (source?.supply !== supply) return;
        const change = this.#panel.changeIn(supply, source.channel, panel, reading.queriedAtMs + this.#zeroMs);
        if (change?.what === "switched-off") {
          this.dispatch({ event: "went-off", atMs: this.atMs, feed });
          return;
        }
        if (change !== null) {
          const cameOn = change.what === "switched-on" ? { output: "on" as const } : {};
          this.dispatch({ event: "front-panel", atMs: this.atMs, feed, because: change.because, ...cameOn });
        }
        if (plan.feeds.some((each) => each.feed === feed))
          this.dispatch({ event: "reading", atMs: this.atMs, reading });
      },
      onFailure: (cause, inARow) => {
        // A cut gives up the question under way; what the line is worth then, its proof says.
        if (this.#cutting) return;
        // One lost reply is asked again after a fence; the third in a row is silence.
        if (inARow >= 3 || (cause instanceof BenchError && cause.code === "suspect-link"))
          this.dispatch({ event: "silent", atMs: this.atMs, instrument: supply.name, because: messageOf(cause) });
      },
    });
  }
}
