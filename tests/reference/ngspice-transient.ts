import { execFile } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";

/** One feed as both programs are told it: SI units, times in ms. */
export interface FeedCase {
  setVolts: number;
  limitAmps: number;
  riseMs: number;
  leadOhms: number;
  inputFarads: number;
  esrOhms: number;
  outputFarads: number;
  outputOhms: number;
  /** A resistor that is always there. */
  shuntOhms?: number;
  /** Constant power between a rising and a falling lock-out. */
  converter?: { watts: number; rising: number; falling: number };
  ms: number;
  /** Longest step of ngspice, µs; default 20. */
  longestStepUs?: number;
}

/** A circuit of the same feed, written for ngspice: source, lead resistance, capacitor, load switched on, current limit. */
function netlist(feed: FeedCase, out: string): string {
  const rampSeconds = ((feed.riseMs / 12) * feed.setVolts) / 1000;
  const lines = [
    "one feed",
    `VREF ref 0 PWL(0 0 ${rampSeconds} ${feed.setVolts})`,
    `BREG 0 out I = max(0, min(${feed.limitAmps}, (V(ref)-V(out))/${feed.outputOhms}))`,
    // Positive where the regulator is asked for more than its limit.
    `BOVER over 0 V = (V(ref)-V(out))/${feed.outputOhms} - ${feed.limitAmps}`,
    `COUT out 0 ${feed.outputFarads}`,
    "VLEAD out wire 0",
    `RLEAD wire card ${feed.leadOhms}`,
    `RESR card cap ${feed.esrOhms}`,
    `CIN cap 0 ${feed.inputFarads}`,
    `RSHUNT card 0 ${feed.shuntOhms ?? 1e8}`,
  ];
  if (feed.converter !== undefined) {
    const { watts, rising, falling } = feed.converter;
    lines.push(
      "VONE one 0 1",
      "SLOCK one gate card 0 lock OFF",
      "RGATE gate 0 1meg",
      `.model lock SW(vt=${(rising + falling) / 2} vh=${(rising - falling) / 2} ron=1 roff=1g)`,
      `BLOAD card 0 I = (V(gate) > 0.5) ? ${watts}/max(V(card), 1) : 0`,
    );
  }
  lines.push(
    ".options reltol=1e-4 method=gear",
    ".control",
    "set wr_singlescale",
    `tran 5u ${feed.ms / 1000} 0 ${feed.longestStepUs ?? 20}u uic`,
    `wrdata ${out} i(vlead) v(over) v(card) v(out)`,
    "quit",
    ".endc",
    ".end",
  );
  return `${lines.join("\n")}\n`;
}

export interface SpiceResult {
  chargeCoulombs: number;
  limitedMs: number;
  cardVolts: number;
}

/** Runs the circuit through ngspice and adds up its trace. Rejects where there is no ngspice. */
export async function runSpice(feed: FeedCase): Promise<SpiceResult> {
  const rows = await spiceRows(feed);
  let chargeCoulombs = 0;
  let limitedMs = 0;
  for (let each = 1; each < rows.length; each++) {
    const [fromSeconds = 0, fromAmps = 0] = rows[each - 1] ?? [];
    const [toSeconds = 0, toAmps = 0, over = 0] = rows[each] ?? [];
    chargeCoulombs += ((fromAmps + toAmps) / 2) * (toSeconds - fromSeconds);
    if (over > 0) limitedMs += (toSeconds - fromSeconds) * 1000;
  }
  return { chargeCoulombs, limitedMs, cardVolts: rows.at(-1)?.[3] ?? Number.NaN };
}

/** The trace itself, a row a step: seconds, amps into the lead, above zero while limited, volts at the card, volts at the supply. */
export async function spiceRows(feed: FeedCase): Promise<number[][]> {
  const folder = await mkdtemp(join(tmpdir(), "firstamp-spice-"));
  try {
    const out = join(folder, "trace.txt");
    await writeFile(join(folder, "feed.cir"), netlist(feed, out));
    await promisify(execFile)("ngspice", ["-b", join(folder, "feed.cir")], { timeout: 60_000 });
    return (await readFile(out, "utf8"))
      .trim()
      .split("\n")
      .map((line) => line.trim().split(/\s+/).map(Number));
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}
