import type { Readable } from "node:stream";
import type { SetOnceBody, WireSetOnce } from "../../shared/files/set-once.ts";
import type { Diagnosis, DiagnosisReadings } from "../../shared/record/diagnosis.ts";
import type { WireAnswer, WireCommand, WireDown, WireJob, WireSnapshot } from "../../shared/wire.ts";
import type { WireShop } from "../../shared/wire-shop.ts";
import type { PageJobs } from "./job-desk.ts";
import type { PageSetup } from "./setup-desk.ts";

/** Who gives a command: an operator holds the one lease at this moment, everybody else is a viewer. */
export interface WireParty {
  role: "viewer" | "operator";
  session: string;
}

/** An attachment as it is stored; the wire alone decides how it may be shown. */
export interface WireAttachment {
  /** The name to save it under; only its safe characters are used. */
  name: string;
  /** Media type by content, never by the given name. */
  mediaType: string;
  bytes: Uint8Array | Readable;
}

/** The job record as the wire may read it. */
export interface WireRecord {
  jobs(): Promise<WireJob[]>;
  /** null: there is no such job. */
  job(id: string): Promise<unknown>;
  attachment(job: string, hash: string): Promise<WireAttachment | null>;
}

/** The daemon's board beside what the snapshot has of it. */
export interface PageBoard {
  /** A photograph by its number; null: there is none, or it cannot be read. */
  photo(index: number): Promise<WireAttachment | null>;
  /** Marks a point on a photograph, or takes its mark away, in the board file; told to every page. */
  mark(index: number, point: string, at: { x: number; y: number } | null): Promise<void>;
  /** The diagnosis from readings of this board. A `BenchError` "bad-input" is an answer for the person. */
  diagnose(readings: DiagnosisReadings): Promise<Diagnosis>;
}

/** The settings for all commands, as `firstamp use` keeps them. */
export interface PageSetOnce {
  read(): Promise<WireSetOnce>;
  /** Changes what is named, and tells every page. A `BenchError` is an answer for the person; then nothing was changed. */
  change(change: SetOnceBody): Promise<WireSetOnce>;
}

/** The callbacks that the wire is handed; it knows no instrument. */
export interface PageBench {
  snapshot(): WireSnapshot;
  /** Frames at most 20 a second, everything else at once. The answer ends the subscription. */
  subscribe(listener: (message: WireDown) => void): () => void;
  /**
   * Does one command. A cut is acted on before this returns, whatever else is outstanding, and is allowed to every
   * role; what starts something, or answers, comes only from an operator, in time and under the present lease.
   */
  command(command: WireCommand, by: WireParty): Promise<WireAnswer>;
  /** The operator's lease ended without being handed back: the page closed, or went silent. */
  operatorGone?(session: string): void;
  /** True while something is on, not known to be off, or about to come on: somebody has to be in control of it. */
  needsWatch?(): boolean;
  /** Another page has taken over what is on, by its name. */
  watchTaken?(by: string): void;
  record?: WireRecord;
  /** The record as a page works with it. */
  jobsForPage?: PageJobs;
  board?: PageBoard;
  /** The first set-up, where the daemon offers it. */
  setup?: PageSetup;
  setOnce?: PageSetOnce;
  /** The shop that this bench belongs to; null where it belongs to none. */
  shop?: () => Promise<WireShop | null>;
}
