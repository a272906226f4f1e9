import { createRequire } from "node:module";
import type { SerialPort } from "serialport";

const require = createRequire(import.meta.url);

/**
 * The serial port library's class. The library takes as long to load as Node itself takes to start, so it is loaded when it is first asked for,
 * at once: a bench on a network never needs it. Throws what the load throws.
 */
export const serialPort = (): typeof SerialPort =>
  (require("serialport") as { SerialPort: typeof SerialPort }).SerialPort;
