import type { CharDevice } from "./char-device.ts";
import type { Wire } from "./line-link.ts";
import type { LinkClosed } from "./link.ts";

export interface UsbtmcListener {
  /** One whole message. */
  message(bytes: Buffer): void;
  lost(closed: LinkClosed): void;
}

/** Longer than the longest line, so that one read takes a whole message. */
const READ_BYTES = 16 * 1024;
/** The most that is kept of one message; a longer one is none that anybody asked for. */
const MOST_BYTES = 16 * 1024 * 1024;
const LONGEST_QUEUE = 16;
const NO_DEVICE = ["ENODEV", "ENXIO", "ESHUTDOWN", "EIO", "EBADF"];

/**
 * The calls of a usbtmc device, one after another: the kernel lets none past another, and each takes a thread, of which
 * the process has few. After a message that wants an answer, one read is made; an end of message is an end of line.
 *
 * Limits (the kernel driver's, from memory): a read that gets no answer holds the device for the kernel's own timeout,
 * 5 s unless a udev rule or another program changed it, and a message written meanwhile waits for that long: a cut too.
 * Messages without an answer are sent before questions that still wait, so a cut waits for one such read at most. The
 * kernel's abort and clear calls (ioctl) cannot be made from here: an instrument that needs them wants its power cycled.
 * A supply that has a socket or a serial line is better driven by that.
 */
export class UsbtmcWire implements Wire {
  readonly #device: CharDevice;
  readonly #fd: number;
  readonly #listener: UsbtmcListener;
  #waiting: { bytes: Buffer; expectsReply: boolean }[] = [];
  #busy = false;
  #running: Promise<void> = Promise.resolve();

  constructor(device: CharDevice, fd: number, listener: UsbtmcListener) {
    this.#device = device;
    this.#fd = fd;
    this.#listener = listener;
  }

  send(bytes: Buffer, expectsReply: boolean): void {
    if (this.#waiting.length >= LONGEST_QUEUE)
      throw new Error(`the instrument accepts nothing: ${LONGEST_QUEUE} messages wait`);
    const firstQuestion = expectsReply ? -1 : this.#waiting.findIndex((each) => each.expectsReply);
    this.#waiting.splice(firstQuestion < 0 ? this.#waiting.length : firstQuestion, 0, { bytes, expectsReply });
    if (!this.#busy) this.#running = this.#run();
  }

  /** Questions that were not sent yet are asked no more. */
  discard(): void {
    this.#waiting = this.#waiting.filter((each) => !each.expectsReply);
  }

  /** Sends what waits of settings, then closes; a descriptor closed under a call could be another file's by then. */
  async shut(): Promise<void> {
    this.discard();
    await this.#running;
    await this.#device.close(this.#fd);
  }

  async #run(): Promise<void> {
    this.#busy = true;
    for (let next = this.#waiting.shift(); next !== undefined; next = this.#waiting.shift()) {
      const lost = (await this.#write(next.bytes)) ?? (next.expectsReply ? await this.#read() : undefined);
      if (lost === undefined) continue;
      this.#waiting = [];
      this.#listener.lost(lost);
    }
    // In the turn that found nothing waiting: a message sent in the next one starts anew.
    this.#busy = false;
  }

  async #write(bytes: Buffer): Promise<LinkClosed | undefined> {
    try {
      for (let at = 0; at < bytes.length; ) {
        const taken = await this.#device.write(this.#fd, bytes.subarray(at));
        if (taken <= 0) return { why: "write-failed", detail: "the device accepted nothing" };
        at += taken;
      }
      return undefined;
    } catch (error) {
      return { why: "write-failed", detail: (error as Error).message };
    }
  }

  /** Hands on one message. A timeout or a broken transfer leaves the link as it is: whoever asked has a deadline. */
  async #read(): Promise<LinkClosed | undefined> {
    let message: Buffer | undefined;
    const pieces: Buffer[] = [];
    try {
      const into = Buffer.alloc(READ_BYTES);
      let length = await this.#device.read(this.#fd, into);
      if (length > 0) message = into.subarray(0, length);
      // The rest of a long message, as a block is; left unread it would be taken for the next answer.
      for (let most = MOST_BYTES; length === READ_BYTES; most -= length) {
        const rest = Buffer.alloc(READ_BYTES);
        length = await this.#device.read(this.#fd, rest);
        if (message !== undefined && most > 0) pieces.push(rest.subarray(0, Math.max(0, length)));
      }
    } catch (error) {
      const { code, message: detail } = error as NodeJS.ErrnoException;
      if (NO_DEVICE.includes(code ?? "")) return { why: "hang-up", detail };
    }
    if (message !== undefined)
      this.#listener.message(pieces.length === 0 ? message : Buffer.concat([message, ...pieces]));
    return undefined;
  }
}
