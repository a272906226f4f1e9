import { BenchError } from "../../shared/bench-error.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { parseBoolean } from "../scpi/boolean.ts";
import type { Capabilities } from "./capabilities.ts";
import { drainErrors, errorsInWords } from "./error-queue.ts";
import type { Speech } from "./speech.ts";
import type { ChannelSettings, WantedSettings } from "./supply.ts";
import { supplyError } from "./supply-error.ts";
import type { Turn } from "./turn.ts";
import { numberFrom, type ValueGrammar } from "./values.ts";

export interface SettingsContext {
  name: string;
  driver: SupplyDriver;
  speech: Speech;
  capabilities: Capabilities;
  grammar: ValueGrammar;
  /** Steps of the settings, where known. */
  stepVolts: number | null;
  stepAmps: number | null;
}

/** Reads all settings of a channel back in one turn. */
export async function readSettings(turn: Turn, channel: number, context: SettingsContext): Promise<ChannelSettings> {
  const { driver, speech, capabilities, grammar } = context;
  const { askSetVolts, askSetAmps, askOutput } = driver.operations;
  const asked: [string, (text: string) => void][] = [];
  const settings: ChannelSettings = {
    setVolts: 0,
    limitAmps: 0,
    overVolts: null,
    overCurrent: null,
    output: "unknown",
  };
  const overCurrent: { on: boolean; amps: number | null; delayMs: number | null } = {
    on: false,
    amps: null,
    delayMs: null,
  };
  let overVoltageOn = true;

  asked.push([askSetVolts, (text) => (settings.setVolts = numberFrom(text, "volts", grammar))]);
  asked.push([askSetAmps, (text) => (settings.limitAmps = numberFrom(text, "amps", grammar))]);
  asked.push([askOutput, (text) => (settings.output = outputFrom(text))]);
  const { overVoltage, overCurrent: protection } = driver;
  if (overVoltage !== undefined && capabilities.overVoltage) {
    asked.push([overVoltage.ask, (text) => (settings.overVolts = numberFrom(text, "volts", grammar))]);
    if (overVoltage.askOn !== undefined && capabilities.overVoltageSwitch) {
      asked.push([
        overVoltage.askOn,
        (text) => (overVoltageOn = booleanFrom(text, overVoltage.askOn ?? "", context.name)),
      ]);
    }
  }
  if (protection !== undefined && capabilities.overCurrent) {
    settings.overCurrent = overCurrent;
    asked.push([protection.askOn, (text) => (overCurrent.on = booleanFrom(text, protection.askOn, context.name))]);
    if (protection.ask !== undefined) {
      asked.push([protection.ask, (text) => (overCurrent.amps = numberFrom(text, "amps", grammar))]);
    }
    if (protection.askDelay !== undefined && capabilities.overCurrentDelay) {
      const perUnit = protection.delayUnit === "s" ? 1000 : 1;
      asked.push([protection.askDelay, (text) => (overCurrent.delayMs = perUnit * Number.parseFloat(text))]);
    }
  }
  const { texts } = await speech.ask(
    turn,
    asked.map(([question]) => question),
    channel,
  );
  asked.forEach(([, take], index) => {
    take(texts[index] ?? "");
  });
  if (!overVoltageOn) settings.overVolts = null;
  return settings;
}

/** The output state as answered; anything but a clear yes or no is unknown. */
export function outputFrom(text: string): "on" | "off" | "unknown" {
  const on = parseBoolean(text);
  return on === undefined ? "unknown" : on ? "on" : "off";
}

function booleanFrom(text: string, question: string, name: string): boolean {
  const answer = parseBoolean(text);
  if (answer !== undefined) return answer;
  throw new BenchError(
    "bad-reply",
    `Cannot read "${question}" from supply "${name}": the reply was ${JSON.stringify(text)}; expected 0 or 1`,
    {
      instrument: name,
    },
  );
}

/** Throws BenchError "setting-refused" where a protection is to be set that the supply does not have. */
export function mustHaveProtections(
  wanted: Partial<WantedSettings>,
  { channel, context }: { channel: number; context: SettingsContext },
): void {
  const { overVoltage, overCurrent } = context.capabilities;
  const missing =
    wanted.overVolts !== undefined && !overVoltage
      ? "over-voltage"
      : wanted.overCurrentOn !== undefined && !overCurrent
        ? "over-current"
        : null;
  if (missing === null) return;
  const because = `channel ${channel} has no ${missing} protection to set; nothing was sent`;
  throw supplyError(context.name, "setting-refused", because);
}

/** The order in which settings are sent: going up protection first; going down volts first. */
export function settingOrder(
  before: Pick<ChannelSettings, "setVolts">,
  wanted: Pick<WantedSettings, "volts">,
): readonly SettingName[] {
  return wanted.volts > before.setVolts
    ? ["overVolts", "overCurrent", "limitAmps", "volts"]
    : ["volts", "limitAmps", "overVolts", "overCurrent"];
}
export type SettingName = "overVolts" | "overCurrent" | "limitAmps" | "volts";

/** Sends one setting and reads the error queue. Throws BenchError "setting-refused". */
export async function sendSetting(
  turn: Turn,
  setting: SettingName,
  options: { channel: number; wanted: Partial<WantedSettings>; context: SettingsContext },
): Promise<void> {
  const { channel, wanted, context } = options;
  const { driver, speech } = context;
  const messages: [string, number | undefined][] = [];
  if (setting === "volts") messages.push([driver.operations.setVolts, wanted.volts]);
  if (setting === "limitAmps") messages.push([driver.operations.setAmps, wanted.limitAmps]);
  if (setting === "overVolts" && wanted.overVolts !== undefined && driver.overVoltage !== undefined) {
    messages.push([driver.overVoltage.set, wanted.overVolts]);
    if (context.capabilities.overVoltageSwitch && driver.overVoltage.on !== undefined)
      messages.push([driver.overVoltage.on, undefined]);
  }
  if (setting === "overCurrent" && wanted.overCurrentOn !== undefined && driver.overCurrent !== undefined) {
    const { setDelay, delayUnit } = driver.overCurrent;
    if (wanted.overCurrentDelayMs !== undefined && setDelay !== undefined && context.capabilities.overCurrentDelay)
      messages.push([setDelay, wanted.overCurrentDelayMs / (delayUnit === "s" ? 1000 : 1)]);
    if (wanted.overCurrentOn && driver.overCurrent.set !== undefined)
      messages.push([driver.overCurrent.set, wanted.limitAmps]);
    messages.push([wanted.overCurrentOn ? driver.overCurrent.on : driver.overCurrent.off, undefined]);
  }
  for (const [template, value] of messages) {
    await speech.tell(turn, template, channel, value);
    const errors = await drainErrors(turn, { name: context.name, askError: driver.askError });
    if (errors.length === 0) continue;
    const asked = template.replace("{channel}", String(channel)).replace("{value}", String(value));
    throw new BenchError(
      "setting-refused",
      `Cannot set channel ${channel} of supply "${context.name}": the reply to "${asked}" was the error ${errorsInWords(errors)}; no error was expected; its output was not touched`,
      { instrument: context.name, detail: { asked, errors } },
    );
  }
}

/** A delay read back may differ by so much, milliseconds or as a share: supplies count it in steps of their own. */
const DELAY_STEP_MS = 20;
const DELAY_SHARE = 0.05;

const delayAgrees = (wantedMs: number, cameMs: number): boolean =>
  Math.abs(wantedMs - cameMs) <= Math.max(DELAY_STEP_MS, DELAY_SHARE * wantedMs);

/** The messages to send where the over-current delay stands already: an output that is on waits for no message too many. */
export function withoutStandingDelay(wanted: WantedSettings, before: ChannelSettings): WantedSettings {
  const { overCurrentDelayMs, ...rest } = wanted;
  const standsMs = before.overCurrent?.delayMs ?? Number.NaN;
  return overCurrentDelayMs !== undefined && delayAgrees(overCurrentDelayMs, standsMs) ? rest : wanted;
}

/** Compares what was asked with what was read back. Throws BenchError "setting-refused" naming every difference. */
export function mustAgree(
  wanted: Partial<WantedSettings>,
  got: ChannelSettings,
  options: { channel: number; context: SettingsContext },
): void {
  const { channel, context } = options;
  // Digits of an answer can be finer than the steps behind them, so without the driver's word 10 mV and 10 mA are allowed.
  const stepVolts = context.driver.resolution?.volts ?? Math.max(context.stepVolts ?? 0, 0.01);
  const stepAmps = context.driver.resolution?.amps ?? Math.max(context.stepAmps ?? 0, 0.01);
  const differences: string[] = [];
  const compare = (what: string, asked: number, came: number | null, step: number, unit: string): void => {
    // Half a millionth more, as 0.1 + 0.2 is not 0.3.
    if (came !== null && Math.abs(asked - came) <= step + 1e-6) return;
    differences.push(`${what}: set to ${asked} ${unit}, reads ${came === null ? "nothing" : `${came} ${unit}`}`);
  };
  if (wanted.volts !== undefined) compare("volts", wanted.volts, got.setVolts, stepVolts, "V");
  if (wanted.limitAmps !== undefined) compare("limit", wanted.limitAmps, got.limitAmps, stepAmps, "A");
  if (wanted.overVolts !== undefined) {
    const step = context.driver.overVoltage?.resolution ?? Math.max(stepVolts, 0.05);
    compare("over-voltage", wanted.overVolts, got.overVolts, step, "V");
  }
  if (wanted.overCurrentOn !== undefined && got.overCurrent?.on !== wanted.overCurrentOn) {
    const came = got.overCurrent === null ? "there is none" : got.overCurrent.on ? "on" : "off";
    differences.push(`over-current: set to ${wanted.overCurrentOn ? "on" : "off"}, reads ${came}`);
  }
  const { set, ask, setDelay } = context.driver.overCurrent ?? {};
  if (wanted.overCurrentOn === true && wanted.limitAmps !== undefined && set !== undefined && ask !== undefined)
    compare("over-current level", wanted.limitAmps, got.overCurrent?.amps ?? null, stepAmps, "A");
  const delayMs = wanted.overCurrentDelayMs;
  if (delayMs !== undefined && setDelay !== undefined && context.capabilities.overCurrentDelay) {
    const cameMs = got.overCurrent?.delayMs ?? null;
    if (cameMs === null || !delayAgrees(delayMs, cameMs))
      differences.push(
        `over-current delay: set to ${delayMs} ms, reads ${cameMs === null ? "nothing" : `${cameMs} ms`}`,
      );
  }
  if (differences.length === 0) return;
  throw new BenchError(
    "setting-refused",
    `Cannot set channel ${channel} of supply "${context.name}": it reads back differently (${differences.join("; ")}); its output was not touched`,
    { instrument: context.name, detail: { wanted, got } },
  );
}
