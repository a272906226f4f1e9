import fc from "fast-check";
import { rigPlan, WireRig } from "./wire-rig.ts";

/** Sequences of each of the four seeds; over all 4,000 in CI, in full 10,000. */
export const RUNS_A_SEED = Number(process.env["FIRSTAMP_INTERLEAVINGS"] ?? 2000) / 4;

/** What a person, the daemon or the bench does to a run; `after` is how many awaits of the bench process settle before it. */
type Move = { after: number } & (
  | { move: "run" | "stop" | "cut" | "again" | "link-lost" | "late" }
  | { move: "answer" | "click"; yes: boolean }
  | { move: "press"; channel: number; on: boolean }
);

interface Sequence {
  feeds: ("a" | "b" | "m" | "n")[];
  keepOn: boolean;
  armMs: number;
  moves: Move[];
}

const after = fc.oneof({ weight: 3, arbitrary: fc.nat(12) }, { weight: 2, arbitrary: fc.nat(120) });

const move: fc.Arbitrary<Move> = fc.oneof(
  { weight: 4, arbitrary: fc.record({ after, move: fc.constant("click" as const), yes: fc.constant(true) }) },
  { weight: 2, arbitrary: fc.record({ after, move: fc.constant("answer" as const), yes: fc.constant(true) }) },
  {
    weight: 1,
    arbitrary: fc.record({
      after,
      move: fc.constantFrom("answer" as const, "click" as const),
      yes: fc.constant(false),
    }),
  },
  { weight: 3, arbitrary: fc.record({ after, move: fc.constant("again" as const) }) },
  { weight: 2, arbitrary: fc.record({ after, move: fc.constantFrom("stop" as const, "cut" as const) }) },
  { weight: 2, arbitrary: fc.record({ after, move: fc.constant("run" as const) }) },
  {
    weight: 2,
    arbitrary: fc.record({
      after,
      move: fc.constant("press" as const),
      channel: fc.constantFrom(1, 2, 3),
      on: fc.boolean(),
    }),
  },
  { weight: 1, arbitrary: fc.record({ after, move: fc.constantFrom("link-lost" as const, "late" as const) }) },
);

const sequence: fc.Arbitrary<Sequence> = fc.record({
  feeds: fc.constantFrom<Sequence["feeds"][]>(
    ["a", "m"],
    ["a", "m", "b"],
    ["m", "a", "n"],
    ["a", "b"],
    ["a", "m", "n"],
  ),
  keepOn: fc.boolean(),
  armMs: fc.constantFrom(0, 30, 90),
  moves: fc.array(move, { minLength: 1, maxLength: 8 }),
});

/** An off to every output counts as a repetition of the one before within this, milliseconds: each cut is written twice. */
const REPEATED_MS = 60;
/** An output that is on must have been measured within this, milliseconds: the plan's 500 ms, a tick and an answer. */
const WATCHED_MS = 600;
/** How long a question may still be shown after its answer, or after the cut that ended it, milliseconds. */
const WITHDRAWN_MS = 100;
/** Everything that was said is answered within this, milliseconds. */
const ANSWERED_MS = 2000;
/** The off of a lost link goes out on a fresh connection, milliseconds. */
const FRESH_MS = 100;

/**
 * What a run may never do, told by the bytes on the wire and the messages alone: the plan, its states and its reasons are
 * not looked at. Throws the first sentence that is broken.
 */
class Oracle {
  readonly #rig: WireRig;
  #looked = 0;
  /** Runs that were asked for since the last off and were neither refused nor ended; null until it is answered. */
  readonly #requests = new Map<number, "asked" | "begun">();
  #offs: number[] = [];
  #offMs = Number.NEGATIVE_INFINITY;
  #cutMs = Number.NEGATIVE_INFINITY;
  /** The question that must no longer be shown, and since when it need not be. */
  #toWithdraw: { question: number; sinceMs: number } | null = null;
  #shown: number | null = null;
  readonly #watchedMs = new Map<number, number>();
  readonly #offTold = new Set<number>();
  /** Since when the page shows a question that the bench process does not ask. */
  #strayMs: number | null = null;
  pressedMs = Number.NEGATIVE_INFINITY;
  lostMs = Number.NEGATIVE_INFINITY;

  constructor(rig: WireRig) {
    this.#rig = rig;
  }

  get #nowMs(): number {
    return this.#rig.clock.nowMs();
  }

  look(): void {
    const { log } = this.#rig;
    for (; this.#looked < log.length; this.#looked++) {
      const entry = log[this.#looked];
      if (entry === undefined) return;
      if (entry.what === "on") this.#on(entry.channel);
      else if (entry.what === "off") this.#off(entry.channel, entry.atMs);
      else if (entry.what === "measured") {
        // One that a hand switched on is nobody's to watch while no run is on.
        if (this.#watchedMs.has(entry.channel)) this.#watchedMs.set(entry.channel, entry.atMs);
      } else if (entry.what === "told") {
        if (entry.message.type === "run") this.#requests.set(entry.message.id, "asked");
        if (entry.message.type === "cut" || entry.message.type === "stop") this.#offTold.add(entry.message.id);
        if (entry.message.type === "answer" && entry.message.question === this.#shown) this.#isOver(this.#shown);
      } else if (entry.what === "said") this.#said(entry.message);
    }
    for (const channel of this.#watchedMs.keys()) {
      const at = this.#rig.supply.channels.get(channel);
      if (at?.on !== true) this.#watchedMs.delete(channel);
      else if (this.#nowMs - (this.#watchedMs.get(channel) ?? 0) > WATCHED_MS)
        throw new Error(`channel ${channel} is on and nobody has looked at it for ${WATCHED_MS} ms`);
    }
    const late = this.#toWithdraw;
    if (late !== null && this.#nowMs - late.sinceMs > WITHDRAWN_MS && this.#shown === late.question)
      throw new Error(
        `question ${late.question} is still shown ${WITHDRAWN_MS} ms after it was answered, or everything cut`,
      );
  }

  #on(channel: number): void {
    if (this.#requests.size === 0)
      throw new Error(`channel ${channel} was switched on after an off, and nobody had asked anew`);
    this.#watchedMs.set(channel, this.#nowMs);
  }

  #off(channel: number, atMs: number): void {
    this.#offs = atMs === this.#offMs ? [...this.#offs, channel] : [channel];
    this.#offMs = atMs;
    if (!this.#rig.channels.every((each) => this.#offs.includes(each))) return;
    if (atMs - this.#cutMs > REPEATED_MS) {
      this.#requests.clear();
      if (this.#shown !== null) this.#isOver(this.#shown);
    }
    this.#cutMs = atMs;
  }

  #isOver(question: number): void {
    this.#toWithdraw = { question, sinceMs: this.#nowMs };
  }

  #said(message: WireRig["said"][number]): void {
    if (message.type === "done" && this.#offTold.has(message.id)) this.#requests.clear();
    if (message.type === "done" && this.#requests.has(message.id)) this.#requests.set(message.id, "begun");
    if (message.type === "problem" && message.id !== null) this.#requests.delete(message.id);
    if (message.type === "question") this.#shown = message.question;
    if (message.type === "events" && this.#shown !== null && message.progress.question !== this.#shown)
      this.#shown = null;
    if (message.type !== "ended") return;
    this.#shown = null;
    for (const [id, stands] of this.#requests) if (stands === "begun") this.#requests.delete(id);
    const { outcome } = message;
    if (outcome.trip?.rule === "unexpected") throw new Error(`a run ended by what nobody did: ${outcome.trip.because}`);
    if (outcome.output === "off" && this.#rig.on.length > 0 && this.#nowMs - this.pressedMs > REPEATED_MS)
      throw new Error(`a run ended with the word off while channels ${this.#rig.on.join(", ")} are on`);
  }

  /** After everything that was said has come to the page: what the bench process waits for is what a person sees. */
  lookAtPage(): void {
    this.look();
    const { shown, clicked } = this.#rig.page;
    const open = this.#shown;
    if (open !== null && shown !== open && !clicked.has(open))
      throw new Error(`question ${open} waits for an answer; the page shows ${shown ?? "none"}`);
    if (shown === null || shown === open) this.#strayMs = null;
    else if (this.#strayMs === null) this.#strayMs = this.#nowMs;
    else if (this.#nowMs - this.#strayMs > WITHDRAWN_MS)
      throw new Error(`the page shows question ${shown}, which has not waited for an answer for ${WITHDRAWN_MS} ms`);
  }

  /** Right after a cut: everything is off, wherever the link stands. */
  cut(): void {
    if (this.#rig.on.length > 0 && this.#nowMs - this.lostMs > FRESH_MS)
      throw new Error(`channels ${this.#rig.on.join(", ")} are on after a cut was taken`);
  }
}

async function play({ feeds, keepOn, armMs, moves }: Sequence): Promise<void> {
  const rig = new WireRig();
  const oracle = new Oracle(rig);
  const connect = rig.connect();
  await rig.until(() => rig.isAnswered(connect));
  rig.armMs = armMs;
  const plan = { ...rigPlan(feeds, keepOn), maxOnMs: 1500 };
  const open = (): number => rig.questions.at(-1)?.question ?? 0;
  let answered: { question: number; yes: boolean } | undefined;
  let clicked: number | null = null;
  const told: number[] = [];
  const step = async (): Promise<void> => {
    await rig.step(() => oracle.lookAtPage());
    oracle.look();
  };
  told.push(rig.run(plan));
  for (const each of moves) {
    for (let left = each.after; left > 0; left--) await step();
    switch (each.move) {
      case "run":
        told.push(rig.run(plan));
        break;
      case "stop":
        told.push(rig.tell({ type: "stop", by: "a person" }));
        break;
      case "cut":
        told.push(rig.tell({ type: "cut", by: "a person" }));
        oracle.cut();
        break;
      case "answer":
        answered = { question: open(), yes: each.yes };
        told.push(rig.tell({ type: "answer", ...answered }));
        break;
      case "click":
        clicked = rig.page.shown;
        if (clicked !== null) rig.page.click(clicked, each.yes);
        break;
      case "again":
        if (answered !== undefined) told.push(rig.tell({ type: "answer", ...answered }));
        if (clicked !== null) rig.page.click(clicked, true);
        break;
      case "press":
        oracle.pressedMs = rig.clock.nowMs();
        rig.supply.press(each.channel, each.on);
        break;
      case "link-lost":
        oracle.lostMs = rig.clock.nowMs();
        rig.supply.lose();
        break;
      case "late":
        rig.supply.lateMs = rig.supply.lateMs === 0 ? 170 : 0;
    }
    oracle.look();
  }
  await finish(rig, { step, told, oracle });
}

/** Whatever the page still asks is answered, then everything is cut: every request has its answer, every run its end, nothing is on. */
async function finish(
  rig: WireRig,
  { step, told, oracle }: { step: () => Promise<void>; told: number[]; oracle: Oracle },
): Promise<void> {
  rig.supply.lateMs = 0;
  let last = 0;
  const settle = async (ms: number): Promise<void> => {
    const untilMs = rig.clock.nowMs() + ms;
    while (!rig.bench.isIdle && rig.clock.nowMs() < untilMs) {
      await step();
      const { shown } = rig.page;
      if (shown === null || shown === last) continue;
      last = shown;
      rig.page.click(shown, true);
    }
  };
  await settle(30_000);
  if (!rig.bench.isIdle) throw new Error("a run does not end though every question on the page is answered");
  told.push(rig.tell({ type: "cut", by: "the end of the sequence" }));
  oracle.cut();
  for (let left = 30; left > 0; left--) await step();
  // A run waits a second for the proof of a cut before it is refused.
  const untilMs = rig.clock.nowMs() + ANSWERED_MS;
  while (told.some((id) => !rig.isAnswered(id)) && rig.clock.nowMs() < untilMs) await step();
  const unanswered = told.filter((id) => !rig.isAnswered(id));
  if (unanswered.length > 0) throw new Error(`${unanswered.length} messages were never answered`);
  if (rig.on.length > 0) throw new Error(`channels ${rig.on.join(", ")} are on at the end`);
}

/**
 * Plays so many sequences; throws with the shortest one that breaks a sentence of the oracle.
 *
 * Tried once with each of these taken out of the program; within 100 sequences of seed 1 each was found:
 * a stop in preparation reaches the machine and raises the epoch; asking why is a state of its own; the page forgets a
 * question before its answer is sent, not after; an answer to another number than the open one is ignored; a cut covers
 * the outputs that the plan does not name.
 */
export const checkInterleavings = (seed: number, numRuns: number): Promise<void> =>
  fc.assert(fc.asyncProperty(sequence, play), { seed, numRuns });
