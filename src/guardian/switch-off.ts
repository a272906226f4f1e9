import type { Clock } from "../../shared/clock.ts";
import type { ArmedSupply } from "../../shared/guardian.ts";
import type { Link } from "../link/link.ts";
import { openLink } from "../link/open-link.ts";

export interface SwitchedOff {
  name: string;
  output: "off" | "unknown";
  detail: string;
}

/** Time in which the link must open: a killed process may hold a serial line or a single socket for some milliseconds. */
const OPEN_WITHIN_MS = 5000;
const REPLY_WITHIN_MS = 500;
/** Current that still counts as none, amps: three 10 mA steps and a meter's offset. */
const NO_AMPS = 0.05;

const pause = (clock: Clock, ms: number) => new Promise<void>((resolve) => void clock.after(ms, resolve));

async function openAtLast(armed: ArmedSupply, clock: Clock): Promise<Link> {
  const untilMs = clock.nowMs() + OPEN_WITHIN_MS;
  for (;;) {
    try {
      return await openLink({
        address: armed.address,
        serial: armed.serial,
        clock,
        deadlineMs: 1000,
        findsHolder: false,
      });
    } catch (cause) {
      if (clock.nowMs() > untilMs) throw cause;
      await pause(clock, 5);
    }
  }
}

/** Asks, and answers with the first line that comes; undefined when none does in time. */
function ask(
  link: Link,
  clock: Clock,
  text: string,
  take: { line: ((line: string) => void) | undefined },
): Promise<string | undefined> {
  return new Promise((resolve) => {
    const cancel = clock.after(REPLY_WITHIN_MS, () => resolve(undefined));
    take.line = (line) => {
      cancel();
      resolve(line);
    };
    try {
      link.write(text, { expectsReply: true });
    } catch {
      cancel();
      resolve(undefined);
    }
  });
}

async function prove(link: Link, clock: Clock, armed: ArmedSupply): Promise<SwitchedOff> {
  const { name } = armed;
  const take: { line: ((line: string) => void) | undefined } = { line: undefined };
  link.onLine((line) => take.line?.(line.text.trim()));
  // What the killed process had asked may still be answered: only after the known identity do answers count.
  let identified = false;
  for (let each = 0; each < 3 && !identified; each++) {
    identified = (await ask(link, clock, armed.identityQuery, take)) === armed.identity;
  }
  if (!identified)
    return {
      name,
      output: "unknown",
      detail: "off was written twice; the instrument did not answer with its identity",
    };
  for (const question of armed.state) {
    const answer = await ask(link, clock, question, take);
    if (answer === undefined || !armed.offAnswers.includes(answer)) {
      return {
        name,
        output: "unknown",
        detail: `off was written twice; the output state reads ${JSON.stringify(answer ?? "nothing")}`,
      };
    }
  }
  for (const question of armed.current) {
    const answer = Number.parseFloat((await ask(link, clock, question, take)) ?? "");
    if (!(Math.abs(answer) <= NO_AMPS))
      return { name, output: "unknown", detail: `the output state is off, but the current reads ${answer} A` };
  }
  return { name, output: "off", detail: "off was written twice; the output state is off and no current flows" };
}

/**
 * Switches one supply off with the literal bytes it was armed with: off is written the moment the link opens, and again
 * 50 ms later; only then is anything asked. Never throws: what could not be proved is `unknown`.
 */
export async function switchOff(armed: ArmedSupply, clock: Clock): Promise<SwitchedOff> {
  let last: SwitchedOff = { name: armed.name, output: "unknown", detail: "nothing was tried" };
  for (let attempt = 0; attempt < 20; attempt++) {
    try {
      const link = await openAtLast(armed, clock);
      try {
        link.write(armed.off);
        await pause(clock, 50);
        link.write(armed.off);
        last = await prove(link, clock, armed);
      } finally {
        await link.close();
      }
    } catch (cause) {
      last = { name: armed.name, output: "unknown", detail: cause instanceof Error ? cause.message : String(cause) };
    }
    if (last.output === "off") return last;
    await pause(clock, 250);
  }
  return last;
}
