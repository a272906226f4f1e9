import { writeSync } from "node:fs";
import type { SerialPort } from "serialport";
import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import type { SerialSettings } from "../../shared/files/bench-file.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { STALL_MS } from "./framer.ts";
import { LineLink } from "./line-link.ts";
import { thisLinkPlatform } from "./link-platform.ts";
import { openError } from "./open-error.ts";
import { serialPort } from "./serial-port.ts";
import { setTtyFlags } from "./tty-flags.ts";
import { within } from "./within.ts";

export interface SerialLinkOptions {
  path: string;
  address: string;
  settings?: SerialSettings;
  clock: Clock;
  deadlineMs: number;
  /** Whether a port in use is searched for its holder, up to 500 ms; true by default. */
  findsHolder?: boolean;
  /** True: what comes is binary, not lines; false by default. */
  isRaw?: boolean;
}

/** The most bytes that may wait for a port that takes nothing, and the longest time, ms. */
const UNSENT_BYTES = 64 * 1024;
const UNSENT_MS = 1000;

/**
 * Opens a serial port: 9600 8N1 and modem lines untouched unless set. One SerialPort object a connection, never opened
 * again: a closed one keeps what is written to it and sends it when it opens. A hang-up in which the system says nothing
 * is found by the next write, so whoever holds the link writes at least every 250 ms. Throws BenchError
 * "no-such-port", "no-permission", "port-in-use", "bad-input", and "no-reply" when the system does not open it in time.
 */
export async function openSerialLink(options: SerialLinkOptions): Promise<LineLink> {
  const { path, clock, settings = {} } = options;
  const baudRate = settings.baudRate ?? 9600;
  const port = new (serialPort())({
    path,
    baudRate,
    dataBits: settings.dataBits ?? 8,
    parity: settings.parity ?? "none",
    stopBits: settings.stopBits ?? 1,
    rtscts: settings.flowControl === "hardware",
    xon: settings.flowControl === "software",
    xoff: settings.flowControl === "software",
    hupcl: settings.hangUpOnClose ?? false,
    autoOpen: false,
  });
  let link: LineLink | undefined;
  // Without a reader from the first turn on, a hang-up is never noticed.
  port.on("data", (bytes: Buffer) => link?.received(bytes));
  port.on("error", (error: Error) => link?.lost({ why: "failed", detail: error.message }));
  port.on("close", () => link?.lost({ why: "hang-up", detail: "the port disappeared" }));

  await opened(port, options);
  try {
    await setModemLines(port, options);
  } catch (error) {
    await shut(port);
    throw error;
  }
  link = new LineLink({
    address: options.address,
    clock,
    wire: {
      send: sender(port, clock, (detail) => link?.lost({ why: "write-failed", detail })),
      shut: () => shut(port),
    },
    // A slow line has longer gaps: four characters of eleven bits.
    stallMs: Math.max(STALL_MS, (4 * 11 * 1000) / baudRate),
  });
  wakePromises(port);
  watchHangUp(port, link);
  // After whoever awaits this link has had its first turn: the first write may be an off that must not wait.
  setImmediate(() => {
    if (link?.isOpen && !setsModemLines(settings)) void setTtyFlags(path, ttyWishOf(options));
  });
  return link;
}

async function opened(port: SerialPort, { path, clock, deadlineMs, findsHolder }: SerialLinkOptions): Promise<void> {
  const opening = new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())));
  let tooLate = false;
  opening.then(
    () => (tooLate ? shut(port) : undefined),
    () => undefined,
  );
  try {
    await within(clock, deadlineMs, opening, () => {
      tooLate = true;
    });
  } catch (cause) {
    throw await openError(path, cause, clock, findsHolder);
  }
  if (tooLate) {
    throw new BenchError(
      "no-reply",
      `Cannot open ${quoted(path)}: the system did not open it within ${deadlineMs} ms; nothing was sent`,
    );
  }
}

const ttyWishOf = ({ settings, isRaw = false }: Pick<SerialLinkOptions, "settings" | "isRaw">) => ({
  hangUpOnClose: settings?.hangUpOnClose ?? false,
  isRaw,
});

const setsModemLines = ({ dtr, rts }: SerialSettings) => dtr !== undefined || rts !== undefined;

async function setModemLines(
  port: SerialPort,
  { path, clock, deadlineMs, settings = {}, isRaw = false }: SerialLinkOptions,
): Promise<void> {
  const { dtr, rts } = settings;
  if (!setsModemLines(settings)) return;
  // First, because stty opens the port too, and each open raises both lines (from memory).
  await setTtyFlags(path, ttyWishOf({ settings, isRaw }));
  // One left out is raised by the library, as it already is by the open.
  const lines = { ...(dtr === undefined ? {} : { dtr }), ...(rts === undefined ? {} : { rts }) };
  const setting = new Promise<void>((resolve, reject) =>
    port.set(lines, (error) => (error ? reject(error) : resolve())),
  );
  try {
    await within(clock, deadlineMs, setting, () => {
      throw new Error(`not done within ${deadlineMs} ms`);
    });
  } catch (cause) {
    const said = messageOf(cause);
    throw new BenchError(
      "bad-input",
      `Cannot set DTR and RTS of ${quoted(path)} as its serial settings require: ${quoted(said)}; leave "dtr" and "rts" out for a port without modem lines; nothing was sent`,
      { cause },
    );
  }
}

/**
 * Lets promises go on that wait for the port. From Node 26.4 on a native callback no longer runs them by itself, and the
 * library's poller waits so for bytes to read: a reply lay there until some timer came (serialport/bindings-cpp#239). An
 * immediate runs in the same turn of the loop, and promises after it.
 */
function wakePromises(port: SerialPort): void {
  if (port.port === undefined || !("poller" in port.port)) return;
  for (const event of ["readable", "writable"] as const) port.port.poller.on(event, () => setImmediate(() => {}));
}

/**
 * Has the system tell of a hang-up while the library is reading: a read that a hang-up ends it repeats without end,
 * busy, and says nothing. Its own poller is free at that time. Linux only; the rule of a write every 250 ms stays.
 */
function watchHangUp(port: SerialPort, link: LineLink): void {
  if (!thisLinkPlatform.tellsOfHangUp || port.port === undefined || !("poller" in port.port)) return;
  port.port.poller.once("disconnect", () => link.lost({ why: "hang-up", detail: "the port disappeared" }));
}

/**
 * Writes straight to the port's descriptor, which does not block: the library would hand bytes to a thread, behind those
 * of its last write, and a close in the same turn would overtake them. Only what the system does not take at once goes by
 * the library.
 */
function sender(port: SerialPort, clock: Clock, failed: (detail: string) => void): (bytes: Buffer) => void {
  return (bytes) => {
    const taken = port.writableLength === 0 ? writeAtOnce(port, bytes) : 0;
    if (taken === bytes.length) return;
    const rest = bytes.subarray(taken);
    if (port.writableLength + rest.length > UNSENT_BYTES)
      throw new Error(`the port accepts nothing: ${port.writableLength} bytes wait`);
    const cancel = clock.after(UNSENT_MS, () => failed(`the port accepted nothing for ${UNSENT_MS} ms`));
    port.write(rest, (error) => {
      cancel();
      if (error) failed(error.message);
    });
  };
}

function writeAtOnce(port: SerialPort, bytes: Buffer): number {
  const fd = port.port !== undefined && "fd" in port.port ? port.port.fd : undefined;
  if (typeof fd !== "number" || !thisLinkPlatform.writesToDescriptor) return 0;
  try {
    return writeSync(fd, bytes);
  } catch (error) {
    if (["EAGAIN", "EWOULDBLOCK", "EINTR"].includes((error as NodeJS.ErrnoException).code ?? "")) return 0;
    throw error;
  }
}

function shut(port: SerialPort): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      port.destroy();
      resolve();
    };
    if (port.isOpen) port.close(done);
    else if (port.closing) port.once("close", done);
    else done();
  });
}
