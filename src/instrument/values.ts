import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { AmpsReading, VoltsReading } from "../../shared/reading.ts";
import { parseNumber, type ScpiNumber } from "../scpi/number.ts";

/** The form of an instrument's numbers, and whose they are, for the sentence where one is none. */
export interface ValueGrammar {
  instrument: string;
  decimalComma: boolean;
  units: { volts?: string | undefined; amps?: string | undefined; ohms?: string | undefined };
}

function read(
  text: string,
  quantity: "volts" | "amps" | "ohms",
  grammar: ValueGrammar,
): Exclude<ScpiNumber, { kind: "bad" }> {
  const unit = grammar.units[quantity];
  const number = parseNumber(text, { decimalComma: grammar.decimalComma, ...(unit === undefined ? {} : { unit }) });
  if (number.kind !== "bad") return number;
  throw new BenchError(
    "bad-reply",
    `Cannot read ${quantity} from "${grammar.instrument}": the reply was ${quoted(text)}, ${number.why}; expected a number`,
    { instrument: grammar.instrument },
  );
}

/** A voltage as answered; an overload and "not a number" are told as such. Throws BenchError "bad-reply". */
export function voltsFrom(text: string, grammar: ValueGrammar): VoltsReading {
  const number = read(text, "volts", grammar);
  if (number.kind === "value") return { kind: "value", volts: number.value };
  return { kind: number.kind === "overload" ? "overload" : "no-reading" };
}

/** A current as answered; an overload and "not a number" are told as such. Throws BenchError "bad-reply". */
export function ampsFrom(text: string, grammar: ValueGrammar): AmpsReading {
  const number = read(text, "amps", grammar);
  if (number.kind === "value") return { kind: "value", amps: number.value };
  return { kind: number.kind === "overload" ? "overload" : "no-reading" };
}

/** A plain number as answered, for settings: an overload is no setting. Throws BenchError "bad-reply". */
export function numberFrom(text: string, quantity: "volts" | "amps" | "ohms", grammar: ValueGrammar): number {
  const number = read(text, quantity, grammar);
  if (number.kind === "value") return number.value;
  throw new BenchError(
    "bad-reply",
    `Cannot read ${quantity} from "${grammar.instrument}": the reply was ${quoted(text)}, which stands for no value; expected a number`,
    { instrument: grammar.instrument },
  );
}
