/** A number as an instrument sent it, or why it is not one. */
export type ScpiNumber =
  | { kind: "value"; value: number }
  | { kind: "overload"; sign: 1 | -1 }
  | { kind: "not-a-number" }
  | { kind: "bad"; why: string };

export interface NumberGrammar {
  /** The unit that may be glued on, as `V`; left out, any unit is refused. */
  unit?: string;
  /** True where the driver says that this family writes `12,34`. Default false. */
  decimalComma?: boolean;
}

/** From here up a magnitude is a mark and no measurement: SCPI-1999 vol. 1, 7.2.1.4–5 uses 9.9E37 and 9.91E37. */
const MARKS_FROM = 9.0e37;
/** 9.91E37 is "not a number"; half way to 9.9E37 tells them apart in any spelling. */
const NOT_A_NUMBER_FROM = 9.905e37;

const NUMBER = /^([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-zΩ%]*)$/;
const INFINITY_WORD = /^([+-]?)(?:INF|INFINITY|OL|OVLD|OVERLOAD|OVER)$/i;
const NAN_WORD = /^[+-]?NAN$/i;

/**
 * Reads one number of a reply: NR1, NR2 and NR3 of IEEE 488.2 (8.7.2–8.7.4), also `4.3E-3` and `+.5`. 9.9E37 of either
 * sign, `INF` and `OL` are an overload; 9.91E37 and `NAN` are not a number; no magnitude from 9.0E37 up is ever a value.
 * A unit is accepted only where it is the one expected, so that `mA` never passes for `A`. Throws nothing.
 */
export function parseNumber(text: string, grammar: NumberGrammar = {}): ScpiNumber {
  const bare = text.trim();
  if (bare === "") return { kind: "bad", why: "blank; it should be a number" };
  if (NAN_WORD.test(bare)) return { kind: "not-a-number" };
  const word = INFINITY_WORD.exec(bare);
  if (word !== null) return { kind: "overload", sign: word[1] === "-" ? -1 : 1 };

  const spelled = grammar.decimalComma === true ? bare.replace(/^([^,]*),([^,]*)$/, "$1.$2") : bare;
  const parts = NUMBER.exec(spelled);
  if (parts === null) return { kind: "bad", why: "not a number" };
  const [, digits = "", unit = ""] = parts;
  if (unit !== "" && unit.toUpperCase() !== grammar.unit?.toUpperCase()) {
    const should = grammar.unit === undefined ? "no unit" : `the unit ${grammar.unit} or none`;
    return { kind: "bad", why: `has the unit ${unit}; it should have ${should}` };
  }
  const value = Number(digits);
  if (Math.abs(value) >= NOT_A_NUMBER_FROM && Number.isFinite(value)) return { kind: "not-a-number" };
  if (Math.abs(value) >= MARKS_FROM) return { kind: "overload", sign: value < 0 ? -1 : 1 };
  return { kind: "value", value };
}

/**
 * The step that the digits of a number suggest: 0.01 for `12.00`. A bound from below, as instruments also send digits that
 * do not count; undefined with an exponent, where the digits follow the size of the number and not the step.
 */
export function stepOf(text: string): number | undefined {
  const parts = /^[+-]?(?:\d+(?:\.(\d{0,6}))?|\.(\d{1,6}))$/.exec(text.trim());
  if (parts === null) return undefined;
  return 10 ** -(parts[1] ?? parts[2] ?? "").length;
}

/** Writes a number for a command: plain decimals, at most six of them, no exponent, as every dialect reads it. */
export function formatNumber(value: number): string {
  const text = value.toFixed(6).replace(/\.?0+$/, "");
  return text === "-0" ? "0" : text;
}
