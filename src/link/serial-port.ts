import { createRequire } from "node:module";
import type { SerialPort } from "serialport";

const require = createRequire(import.meta.url);
let loaded: typeof SerialPort | undefined;

/**
 * The serial port library's class. The library takes as long to load as Node itself takes to start, so it is loaded when it is first asked for,
 * at once: a bench on a network never needs it. Throws what the load throws.
 */
export function serialPort(): typeof SerialPort {
  loaded ??= (require("serialport") as { SerialPort: typeof SerialPort }).SerialPort;
  return loaded;
}
