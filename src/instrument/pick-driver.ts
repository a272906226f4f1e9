import { BenchError } from "../../shared/bench-error.ts";
import type { DriverFile } from "../../shared/files/driver-file.ts";
import { readPattern } from "../../shared/files/pattern.ts";
import { parseBoolean } from "../scpi/boolean.ts";
import type { Identity } from "../scpi/identity.ts";
import { parseNumber } from "../scpi/number.ts";
import { tryAsk } from "./capabilities.ts";
import type { InstrumentSession } from "./session.ts";

export interface PickedDriver {
  driver: DriverFile;
  /** A sentence a candidate: why it was taken or left. */
  why: string[];
}

type ProbeAsk = DriverFile["probe"]["asks"][number];

function fits(text: string, ask: ProbeAsk, driver: DriverFile): boolean {
  if (ask.matches !== undefined && !readPattern(ask.matches).isIn(text)) return false;
  const unit = driver.wire.units.volts;
  const number = parseNumber(text, { decimalComma: driver.wire.decimalComma, ...(unit === undefined ? {} : { unit }) });
  switch (ask.answers) {
    case "number":
      return number.kind !== "bad";
    case "integer":
      return number.kind === "value" && Number.isInteger(number.value);
    case "boolean":
      return parseBoolean(text) !== undefined;
    case "text":
      return text !== "" && number.kind === "bad";
  }
}

function claims(driver: DriverFile, identity: Identity): boolean {
  if (driver.identity === undefined) return false;
  const { maker, model } = driver.identity;
  const matches = (pattern: string | undefined, field: string): boolean =>
    pattern === undefined || readPattern(pattern).isIn(field);
  return matches(maker, identity.maker) && matches(model, identity.model);
}

/**
 * Finds the driver by its name, or with "auto" the one that claims the identity, or the first, in the order of the
 * drivers' probes, whose questions are all answered as they should be. Nothing asked energises anything. Throws BenchError
 * "unknown-driver" with the names there are, "two-drivers" naming both.
 */
export async function pickDriver(options: {
  session: InstrumentSession;
  identity: Identity;
  drivers: readonly DriverFile[];
  kind: DriverFile["kind"];
  wanted: string;
  /** The time a question may stay unanswered before it counts as not understood, ms. */
  silentMs: number;
}): Promise<PickedDriver> {
  const { session, identity, kind, wanted } = options;
  const candidates = options.drivers.filter((each) => each.kind === kind);
  if (wanted !== "auto")
    return { driver: driverNamed(wanted, kind, options.drivers), why: [`${wanted}: named in the bench file`] };

  const claiming = candidates.filter((each) => claims(each, identity));
  if (claiming.length > 1) {
    const names = claiming.map((each) => `"${each.name}"`).join(" and ");
    throw new BenchError(
      "two-drivers",
      `Cannot choose a driver for ${kind} "${session.name}": ${names} both claim ${JSON.stringify(identity.raw)}; name one of them as "driver" in the bench file; nothing was energised`,
      { instrument: session.name, detail: { drivers: claiming.map((each) => each.name) } },
    );
  }
  const [only] = claiming;
  if (only !== undefined)
    return { driver: only, why: [`${only.name}: claims the identity ${JSON.stringify(identity.raw)}`] };

  const why: string[] = [];
  const byProbe = candidates
    .filter((each) => each.identity === undefined)
    .sort((a, b) => a.probe.order - b.probe.order);
  for (const driver of byProbe) {
    const failed = await firstThatFails(session, driver, options.silentMs);
    if (failed === undefined) {
      why.push(
        `${driver.name}: chosen, because ${driver.probe.asks.map((each) => each.ask).join(", ")} were answered as expected`,
      );
      const index = byProbe.indexOf(driver);
      for (const later of byProbe.slice(index + 1))
        why.push(`${later.name}: not tried, because ${driver.name} comes before it`);
      return { driver, why };
    }
    why.push(`${driver.name}: left, ${failed}`);
  }
  throw new BenchError(
    "unknown-driver",
    `Cannot choose a driver for ${kind} "${session.name}" (${JSON.stringify(identity.raw)}): ${why.join("; ") || "no driver fits"}; write one as described in docs/drivers.md, or name one as "driver" in the bench file; nothing was energised`,
    { instrument: session.name, detail: { why } },
  );
}

/** The driver of that name and kind. Throws BenchError "unknown-driver" listing what there is. */
export function driverNamed(name: string, kind: DriverFile["kind"], drivers: readonly DriverFile[]): DriverFile {
  const named = drivers.find((each) => each.name === name);
  if (named?.kind === kind) return named;
  const there = drivers
    .filter((each) => each.kind === kind)
    .map((each) => each.name)
    .sort();
  const what = named === undefined ? "no driver has that name" : `it is a driver for a ${named.kind}`;
  throw new BenchError(
    "unknown-driver",
    `Cannot use driver "${name}" for a ${kind}: ${what}; the choices are ${there.join(", ") || "none"}, and "auto"; nothing was sent`,
    { detail: { name, there } },
  );
}

async function firstThatFails(
  session: InstrumentSession,
  driver: DriverFile,
  silentMs: number,
): Promise<string | undefined> {
  for (const ask of driver.probe.asks) {
    const answer = await tryAsk(session, async (turn) => (await turn.query(ask.ask, { timeoutMs: silentMs })).text, {
      name: session.name,
      askError: driver.askError,
      fits: (text) => fits(text, ask, driver),
    });
    if (answer === undefined) return `the reply to ${ask.ask} was not a ${ask.answers}`;
  }
  return undefined;
}
