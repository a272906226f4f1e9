import { BenchError } from "../../shared/bench-error.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { joinMessages, splitValues } from "../scpi/compound.ts";
import { modeFrom } from "./mode.ts";
import { outputFrom } from "./settings.ts";
import { fill } from "./speech.ts";
import type { SupplyReading } from "./supply.ts";
import { ampsFrom, numberFrom, type ValueGrammar, voltsFrom } from "./values.ts";

type Extra = "mode" | "output" | "setVolts" | "setAmps";

/** The questions of one reading; the arrays stay the same from reading to reading, so that their lines are made once. */
interface Asked {
  questions: readonly string[];
  extras: readonly Extra[];
}

export interface ReadingQuestionsOptions {
  driver: SupplyDriver;
  hasMode: boolean;
  /** Whether several questions share a line, and with it a round trip. */
  joins: boolean;
}

/** One reading in so many asks one more question, where each question is a round trip. */
const EXTRA_EVERY = 2;

/**
 * The questions asked with volts and amps: the mode, and what someone at the front panel can change. On one line where it fits;
 * in turns where it does not, so that no reading costs a second round trip; and one more question every other reading
 * where each is a round trip of its own.
 */
export class ReadingQuestions {
  readonly #driver: SupplyDriver;
  readonly #rounds: readonly Asked[];
  readonly #reads = new Map<number, number>();

  constructor({ driver, hasMode, joins }: ReadingQuestionsOptions) {
    this.#driver = driver;
    const { measureVolts, measureAmps, measureBoth } = driver.operations;
    const plain = measureBoth === undefined ? [measureVolts, measureAmps] : [measureBoth];
    const extras: Extra[] = [...(hasMode ? (["mode"] as const) : []), "output", "setVolts", "setAmps"];
    const asked = (each: readonly Extra[]): Asked => ({
      questions: [...plain, ...each.map((extra) => this.#questionOf(extra))],
      extras: each,
    });
    const bare = asked([]);
    if (!joins) {
      this.#rounds = extras.flatMap((each) => [asked([each]), ...Array.from({ length: EXTRA_EVERY - 1 }, () => bare)]);
      return;
    }
    const rounds: Extra[][] = [[]];
    for (const each of extras) {
      const round = rounds.at(-1) ?? [];
      if (round.length === 0 || this.#fits([...plain, ...[...round, each].map((extra) => this.#questionOf(extra))]))
        round.push(each);
      else rounds.push([each]);
    }
    this.#rounds = rounds.map(asked);
  }

  next(channel: number): Asked {
    const count = this.#reads.get(channel) ?? 0;
    this.#reads.set(channel, count + 1);
    return this.#rounds[count % this.#rounds.length] as Asked;
  }

  /** The answers as a reading. Throws BenchError "bad-reply". */
  understood(
    asked: Asked,
    texts: readonly string[],
    grammar: ValueGrammar,
  ): Pick<SupplyReading, "volts" | "amps" | "mode" | "panel"> {
    const measured = texts.length - asked.extras.length;
    const [volts = "", amps = ""] = measured === 1 ? splitValues(texts[0] ?? "") : texts;
    const reading: Pick<SupplyReading, "volts" | "amps" | "mode" | "panel"> = {
      volts: voltsFrom(volts, grammar),
      amps: ampsFrom(amps, grammar),
      mode: "unknown",
      panel: {},
    };
    asked.extras.forEach((extra, index) => {
      const text = texts[measured + index] ?? "";
      if (extra === "mode") reading.mode = modeFrom(text, this.#driver.mode) ?? "unknown";
      else if (extra === "setVolts") reading.panel.setVolts = numberFrom(text, "volts", grammar);
      else if (extra === "setAmps") reading.panel.limitAmps = numberFrom(text, "amps", grammar);
      else reading.panel.output = this.#output(text, grammar);
    });
    return reading;
  }

  #output(text: string, { instrument }: ValueGrammar): "on" | "off" {
    const state = outputFrom(text);
    if (state !== "unknown") return state;
    throw new BenchError(
      "bad-reply",
      `Cannot read from supply "${instrument}": the reply about its output was ${JSON.stringify(text)}; expected 0 or 1`,
      { instrument },
    );
  }

  #questionOf(extra: Extra): string {
    const { askOutput, askSetVolts, askSetAmps } = this.#driver.operations;
    return { mode: this.#driver.mode?.ask ?? "", output: askOutput, setVolts: askSetVolts, setAmps: askSetAmps }[extra];
  }

  /** Whether the line stays within what the instrument takes, for any channel. */
  #fits(questions: readonly string[]): boolean {
    const { select } = this.#driver.channels;
    const selection = select?.sameLine === true ? [fill(select.tell, { channel: 32 })] : [];
    const line = joinMessages([...selection, ...questions.map((each) => fill(each, { channel: 32 }))]);
    return line.length <= this.#driver.wire.longestLine;
  }
}
