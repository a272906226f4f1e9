/** A fault of one reply on its way out. Positions count bytes of the reply, terminator included. */
export type ReplyFault =
  /** Comes later by `ms`, on top of the instrument's own latency; with `inOrder`, later replies wait behind it. */
  | { fault: "delay"; ms: number; inOrder?: boolean }
  /** The first `at` bytes, then after `gapMs` the rest. */
  | { fault: "split"; at: number; gapMs: number }
  /** Kept back, and sent in one write with the next reply. */
  | { fault: "merge" }
  | { fault: "drop" }
  /** Sent twice. */
  | { fault: "repeat" }
  /** One byte becomes another. */
  | { fault: "corrupt"; at: number; byte: number }
  /** Other bytes (Latin-1) before, after or in place of the reply. */
  | { fault: "garbage"; bytes: string; place: "before" | "after" | "instead" }
  /** Another text, with the reply's own terminator. */
  | { fault: "replace"; text: string }
  /** Its own text, put differently: a decimal comma, a unit, a sentinel in a list. */
  | { fault: "rewrite"; as: (text: string) => string }
  /** The connection goes after `bytes` bytes. */
  | { fault: "cut"; bytes: number; how: "end" | "reset" };

/** A piece of a reply: bytes, when to send them (ms from the moment the reply is due), and how the connection fares then. */
export interface ReplyPiece {
  afterMs: number;
  bytes: Buffer;
  ending?: "end" | "reset";
}

/** The bytes that go on the wire in place of a reply; `held` are those that a merge kept back earlier. */
export function faultyReply(
  reply: Buffer,
  terminatorLength: number,
  fault: ReplyFault | undefined,
  held: Buffer,
): { pieces: ReplyPiece[]; held: Buffer } {
  const none = Buffer.alloc(0);
  const whole = Buffer.concat([held, reply]);
  const one = (bytes: Buffer, afterMs = 0) => ({ pieces: bytes.length === 0 ? [] : [{ afterMs, bytes }], held: none });
  switch (fault?.fault) {
    case undefined:
      return one(whole);
    case "delay":
      return one(whole, fault.ms);
    case "split":
      return {
        pieces: [
          { afterMs: 0, bytes: whole.subarray(0, fault.at) },
          { afterMs: fault.gapMs, bytes: whole.subarray(fault.at) },
        ].filter((piece) => piece.bytes.length > 0),
        held: none,
      };
    case "merge":
      return { pieces: [], held: whole };
    case "drop":
      return one(held);
    case "repeat":
      return one(Buffer.concat([whole, reply]));
    case "corrupt": {
      const bytes = Buffer.from(reply);
      if (fault.at < bytes.length) bytes[fault.at] = fault.byte & 0xff;
      return one(Buffer.concat([held, bytes]));
    }
    case "garbage": {
      const junk = Buffer.from(fault.bytes, "latin1");
      const parts = { before: [held, junk, reply], after: [held, reply, junk], instead: [held, junk] };
      return one(Buffer.concat(parts[fault.place]));
    }
    case "replace":
      return one(
        Buffer.concat([held, Buffer.from(fault.text, "latin1"), reply.subarray(reply.length - terminatorLength)]),
      );
    case "rewrite": {
      const end = reply.length - terminatorLength;
      const text = Buffer.from(fault.as(reply.toString("latin1", 0, end)), "latin1");
      return one(Buffer.concat([held, text, reply.subarray(end)]));
    }
    case "cut":
      return { pieces: [{ afterMs: 0, bytes: whole.subarray(0, fault.bytes), ending: fault.how }], held: none };
  }
}
