import { createRequire } from "node:module";
import type { SerialPort } from "serialport";

const require = createRequire(import.meta.url);

/**
 * Answers with the serial port library's class. The first call loads the library, which takes as long as a start of Node; a bench on a
 * network never does. Throws what `require` throws where the library is not installed whole.
 */
export const serialPort = (): typeof SerialPort =>
  (require("serialport") as { SerialPort: typeof SerialPort }).SerialPort;
