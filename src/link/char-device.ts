import { close, constants, open, read, write } from "node:fs";
import { promisify } from "node:util";

/** The four calls on a message-based character device, each one system call in a thread of its own. */
export interface CharDevice {
  open(path: string): Promise<number>;
  /** Bytes taken. */
  write(fd: number, bytes: Buffer): Promise<number>;
  /** Bytes read into `into`; at most one message. */
  read(fd: number, into: Buffer): Promise<number>;
  close(fd: number): Promise<void>;
}

const openFile = promisify(open);
const readFile = promisify(read);
const writeFile = promisify(write);
const closeFile = promisify(close);

export const kernelDevice: CharDevice = {
  open: (path) => openFile(path, constants.O_RDWR | constants.O_NOCTTY),
  write: async (fd, bytes) => (await writeFile(fd, bytes, 0, bytes.length, null)).bytesWritten,
  read: async (fd, into) => (await readFile(fd, into, 0, into.length, null)).bytesRead,
  close: (fd) => closeFile(fd),
};
