import { parseQuotedString } from "./quoted-string.ts";

/** The subject of an error code, by its range (SCPI-1999 vol. 2, 21.8.8). */
export type ErrorKind = "none" | "command" | "execution" | "device" | "query" | "other";

/** One entry of the error queue; code 0 is its end. */
export interface ErrorEntry {
  code: number;
  text: string;
  kind: ErrorKind;
}

/** Which kind of error a code is; device errors are −300…−399 and every positive code. */
export function errorKindOf(code: number): ErrorKind {
  if (code === 0) return "none";
  if (code > 0 || (code <= -300 && code > -400)) return "device";
  if (code <= -100 && code > -200) return "command";
  if (code <= -200 && code > -300) return "execution";
  if (code <= -400 && code > -500) return "query";
  return "other";
}

/**
 * Reads the answer to `SYST:ERR?`: `-113,"Undefined header;ABCD"`, `+0,"No error"`, a bare `-000`, or a code with text
 * that is not quoted. Undefined where no code stands at its beginning.
 */
export function parseErrorEntry(line: string): ErrorEntry | undefined {
  const parts = /^\s*([+-]?\d{1,5})\s*(?:,(.*))?$/s.exec(line);
  if (parts === null) return undefined;
  // -000 occurs; || turns the −0 it makes into 0.
  const code = Number(parts[1]) || 0;
  const rest = (parts[2] ?? "").trim();
  return { code, text: parseQuotedString(rest) ?? rest, kind: errorKindOf(code) };
}
