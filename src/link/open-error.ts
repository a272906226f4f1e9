import { BenchError, type BenchErrorCode, quoted } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { deviceGroup } from "../system/device-group.ts";
import { portHolder } from "../system/port-holder.ts";
import { within } from "./within.ts";

const LOOK_WITHIN_MS = 500;

/**
 * Makes a sentence of why a device file could not be opened, and of what to do about it. Never throws. With `findsHolder`
 * it names the process that holds a port in use: some milliseconds where it has the lock, else up to 500 ms (measured).
 */
export async function openError(path: string, cause: unknown, clock: Clock, findsHolder = true): Promise<BenchError> {
  const said = messageOf(cause);
  const error = (code: BenchErrorCode, what: string) =>
    new BenchError(code, `Cannot open ${quoted(path)}: ${what}; nothing was sent, no output was touched`, {
      detail: { path, said },
      cause,
    });
  if (/cannot lock|resource busy|EBUSY/i.test(said)) {
    if (!findsHolder) return error("port-in-use", "another process has it open");
    const holder = await within(clock, LOOK_WITHIN_MS, portHolder(path), () => undefined);
    const who =
      holder === undefined
        ? "another process, which this user may not see"
        : holder.pid === process.pid
          ? `this program itself (pid ${holder.pid})`
          : `process ${holder.pid}: ${quoted(holder.command)}`;
    return error("port-in-use", `${who} has it open; end that first`);
  }
  if (/permission denied|access denied|not permitted|EACCES|EPERM/i.test(said)) {
    const group = await within(clock, LOOK_WITHIN_MS, deviceGroup(path), () => "dialout");
    return error(
      "no-permission",
      `this user has no permission. Run: sudo usermod -aG ${group} "$USER" (and log in again)`,
    );
  }
  if (/no such file|ENOENT|file not found/i.test(said)) {
    return error("no-such-port", 'the port does not exist; is the cable plugged in? "firstamp find" lists the ports');
  }
  if (/inappropriate ioctl|not a tty|ENOTTY|not a directory|ENOTDIR/i.test(said)) {
    return error("no-such-port", "it exists, but is not a serial port");
  }
  if (/baud rate|invalid (data|stop|parity)/i.test(said)) {
    return error("bad-input", `the port refuses its serial settings (${quoted(said)})`);
  }
  return error("no-such-port", `no usable device is behind it (${quoted(said)})`);
}
