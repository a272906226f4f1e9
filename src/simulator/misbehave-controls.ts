import type { InstrumentPort } from "./instrument-port.ts";
import type { Misbehaviour, Pick } from "./misbehaviour.ts";
import type { ReplyFault } from "./reply-fault.ts";
import type { SimulatedBoard } from "./simulated-board.ts";
import type { SimulatedMeter } from "./simulated-meter.ts";
import type { SimulatedSupply } from "./simulated-supply.ts";

/** One instrument of a simulated bench. */
export interface SimulatedInstrument {
  name: string;
  kind: "supply" | "meter" | "recorder";
  port: InstrumentPort;
  misbehaviour: Misbehaviour;
  supply?: SimulatedSupply;
  meter?: SimulatedMeter;
  fileError: (code: number, words: string) => void;
  /** The feeds its channels go to, channel 1 first. */
  feeds: readonly string[];
}

/** The faults that can be given to a simulated instrument, by its name in the bench file. */
export interface Misbehave {
  /** Strikes replies on their way out; the answer calls it off. */
  replies(instrument: string, pick: Pick, fault: ReplyFault): () => void;
  /** Runs commands and answers nothing, until called with false. */
  stall(instrument: string, on: boolean): void;
  /** Bytes (Latin-1) nobody asked for. */
  blurt(instrument: string, bytes: string): void;
  /** Bytes (Latin-1) each new connection begins with; a terminal has no new connections, `blurt` before it is opened. */
  greet(instrument: string, bytes: string): void;
  /** Another identity; null for the true one. */
  identity(instrument: string, identity: string | null): void;
  /** Refuses commands whose header matches, with an error; the answer calls it off. */
  refuse(instrument: string, pattern: RegExp, code?: number, words?: string): () => void;
  /** Silently does nothing for settings whose header matches. */
  ignore(instrument: string, pattern: RegExp): () => void;
  /** The output cannot be switched off. */
  stayOn(instrument: string, on: boolean): void;
  /** Answers the same readings for ever. */
  freeze(instrument: string, on: boolean): void;
  /** Someone's hand on the front panel. */
  frontPanel(feed: string, change: { output?: "on" | "off"; volts?: number; limitAmps?: number }): void;
  /** Mains off and on; connections of a socket end. */
  powerCycle(instrument: string): void;
  /** Settings fall back to the power-on state without a word, connections live on. */
  reboot(instrument: string): void;
  /** Ends all connections of an instrument. */
  dropLink(instrument: string, how: "end" | "reset"): void;
  /** Fills the error queue. */
  errors(instrument: string, entries: readonly { code: number; words: string }[]): void;
}

export interface MisbehaveOptions {
  instruments: readonly SimulatedInstrument[];
  board: SimulatedBoard;
  /** Brings the physics up to now. */
  advance: () => void;
  note: (instrument: string, text: string) => void;
  /** Whether a power cycle ends the connections: those of a socket, not a terminal. */
  cyclesEndLinks: boolean;
}

/** The controls by which a test, or a person, makes simulated instruments misbehave. Each throws on a name that is not there. */
export function misbehaveControls({ instruments, board, advance, note, cyclesEndLinks }: MisbehaveOptions): Misbehave {
  const find = (name: string): SimulatedInstrument => {
    const found = instruments.find((each) => each.name === name);
    if (found === undefined) throw new Error(`the simulated bench has no instrument ${JSON.stringify(name)}`);
    return found;
  };
  const ownerOf = (feed: string): string => instruments.find((each) => each.feeds.includes(feed))?.name ?? feed;
  return {
    replies: (name, pick, fault) => find(name).misbehaviour.onReplies(pick, fault),
    stall: (name, on) => {
      find(name).misbehaviour.stalled = on;
    },
    blurt: (name, text) => find(name).port.blurt(text),
    greet: (name, text) => {
      find(name).misbehaviour.greeting = text;
    },
    identity: (name, identity) => {
      find(name).misbehaviour.identity = identity;
    },
    refuse: (name, pattern, code, words) => find(name).misbehaviour.refuse(pattern, code, words),
    ignore: (name, pattern) => find(name).misbehaviour.ignore(pattern),
    stayOn: (name, on) => {
      find(name).misbehaviour.staysOn = on;
    },
    freeze: (name, on) => {
      advance();
      for (const feed of find(name).feeds) board.feed(feed).readBack.frozen = on;
    },
    frontPanel: (feed, change) => {
      advance();
      const { stage } = board.feed(feed);
      if (change.volts !== undefined) stage.setVolts = change.volts;
      if (change.limitAmps !== undefined) stage.limitAmps = change.limitAmps;
      board.settingsChanged(feed);
      if (change.output !== undefined) board.switchOutput(feed, change.output, "front panel");
      note(ownerOf(feed), `${feed} front panel ${JSON.stringify(change)}`);
    },
    powerCycle: (name) => {
      advance();
      const { supply, meter, port } = find(name);
      port.forget();
      (supply ?? meter)?.powerCycle();
      if (cyclesEndLinks) port.drop("reset");
      note(name, "power cycle");
    },
    reboot: (name) => {
      advance();
      const { supply, meter } = find(name);
      (supply ?? meter)?.powerCycle();
      note(name, "reboot");
    },
    dropLink: (name, how) => find(name).port.drop(how),
    errors: (name, entries) => {
      for (const { code, words } of entries) find(name).fileError(code, words);
    },
  };
}
