import { BenchError } from "../../shared/bench-error.ts";
import { type Clock, pause } from "../../shared/clock.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Supply } from "./supply.ts";

/** The finding of the trial of a supply's communication watchdog; `output` is what is true of the channel afterwards. */
export interface WatchdogProof {
  result: "proved" | "did-not-act" | "none" | "failed";
  output: "off" | "unknown";
  detail: string;
}

const DELAY_S = 2;
/** Beyond its delay a supply gets one more second to act. */
const SLACK_MS = 1000;
const LIMIT_AMPS = 0.1;
const OFF_WITHIN_MS = 1000;

/**
 * Proves a supply's communication watchdog: the channel on at 0 V and at most 0.1 A with nothing on its leads, 2 s set, then
 * silence for 3 s, after which the supply must say by itself that it is off. Ends with the output proved off, the watchdog
 * called off and its trip cleared. A channel found on is left as it is. Never throws.
 */
export async function proveWatchdog(supply: Supply, channel: number, clock: Clock): Promise<WatchdogProof> {
  if (!supply.traits.hasWatchdog)
    return { result: "none", output: "off", detail: "it has none; it stays on if this computer dies" };
  try {
    if ((await supply.outputState(channel)) === "on")
      return { result: "failed", output: "unknown", detail: "its output is on; switch it off first" };
  } catch (cause) {
    return { result: "failed", output: "unknown", detail: messageOf(cause) };
  }
  let found: Pick<WatchdogProof, "result" | "detail">;
  try {
    found = await tried(supply, channel, clock);
  } catch (cause) {
    found = { result: "failed", detail: messageOf(cause) };
  }
  supply.cut([channel]);
  const proof = await supply
    .proveOff([channel], { withinMs: OFF_WITHIN_MS })
    .catch((cause: unknown) => ({ output: "unknown" as const, detail: messageOf(cause) }));
  supply.energised = false;
  if (proof.output === "unknown") return { result: "failed", output: "unknown", detail: proof.detail };
  try {
    await supply.disarmWatchdog();
    await supply.clearProtection(channel);
  } catch (cause) {
    return { ...found, output: "off", detail: `${found.detail}; disarming it failed: ${messageOf(cause)}` };
  }
  return { ...found, output: "off" };
}

async function tried(supply: Supply, channel: number, clock: Clock): Promise<Pick<WatchdogProof, "result" | "detail">> {
  await supply.configure(channel, { volts: 0, limitAmps: LIMIT_AMPS });
  await supply.armWatchdog(DELAY_S);
  const guard = { connection: supply.connection, deadlineMs: clock.nowMs() + OFF_WITHIN_MS };
  supply.energised = true;
  await supply.switchOn(channel, guard);
  if ((await supply.outputState(channel)) !== "on")
    throw new BenchError("output-unknown", "its output did not come on, so the test shows nothing");
  await pause(clock, 1000 * DELAY_S + SLACK_MS);
  return (await supply.outputState(channel)) === "off"
    ? { result: "proved", detail: `it switched off on its own within ${DELAY_S + SLACK_MS / 1000} s of silence` }
    : {
        result: "did-not-act",
        detail: `it stayed on through ${DELAY_S + SLACK_MS / 1000} s of silence, although ${DELAY_S} s was set: do not rely on it`,
      };
}
