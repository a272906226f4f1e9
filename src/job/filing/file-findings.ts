import { readFile } from "node:fs/promises";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import { HostTest } from "../../../shared/record/host-test.ts";
import type { JobEvent, JobEventOf, StoredEvent } from "../../../shared/record/job.ts";
import { readStartCsv } from "../../capture/read-start-csv.ts";
import { firmwareVerdict } from "../../verdict/firmware/firmware-verdict.ts";
import { hostVerdict } from "../../verdict/host/host-verdict.ts";
import { startOrder } from "../../verdict/start/start-order.ts";
import { notesOnRepair, sinceRepair } from "../known/since-repair.ts";
import { attachmentPath } from "../store/attachment-store.ts";
import { eventsOf } from "../store/current-events.ts";
import type { JobStore } from "../store/job-store.ts";
import { runsOf } from "../store/runs-of.ts";
import { goodImages, sameBoardImages } from "./known-images.ts";
import { type FileKind, recogniseFile } from "./recognise-file.ts";

/** A person's statements on a file that the file does not make itself; everything may be left out. */
export interface FilingWishes {
  as?: FileKind;
  /** The board file; left out: that of the job's last run. */
  board?: BoardFile;
  /** The board file of a job no run of which names one. */
  usualBoard?: BoardFile;
  /** A host look: the port the board is in, whether a known good card was in it, and the host's clock. */
  port?: string;
  control?: boolean;
  clockAheadMs?: number;
  /** A trace: names of its columns by the board file's. */
  names?: Readonly<Record<string, string>>;
}

/** The outcome for a file: the events that were filed, or the reason why nothing could be told of it. */
export interface Findings {
  filed: StoredEvent[];
  notes: string[];
}

/** The same before anything is filed. */
export interface Finding {
  events: JobEvent[];
  notes: string[];
}

/**
 * Looks into a file that was attached, and files what it shows: a host look with its meaning, tests done elsewhere, the order of a
 * start, what a firmware image is. Throws BenchError "bad-input" where a person says what the file is and it is not that.
 */
export async function fileFindings(
  store: JobStore,
  job: string,
  attached: JobEventOf<"attachment">,
  wishes: FilingWishes = {},
): Promise<Findings> {
  const { events, notes } = await findingIn(store, job, attached, wishes);
  const filed: StoredEvent[] = [];
  for (const event of events) filed.push(await store.appendEvent(job, event));
  return { filed, notes };
}

/** Makes the events that `fileFindings` files for a file; throws as it does. */
export async function findingIn(
  store: JobStore,
  job: string,
  attached: JobEventOf<"attachment">,
  wishes: FilingWishes = {},
): Promise<Finding> {
  const path = attachmentPath(store.dir, attached.sha256);
  const bytes = await readFile(path);
  const found = recogniseFile(bytes, attached.mediaType, wishes.as ?? null);
  const log = await store.events(job);
  const ofLastRun = runsOf(log).findLast((run) => run.header.board !== null)?.header.board;
  const board = wishes.board ?? ofLastRun ?? wishes.usualBoard ?? null;
  const shown = (event: JobEvent): Finding => ({ events: [event], notes: notesOnRepair(log, [event]) });
  switch (found.is) {
    case "host-look":
      return shown(hostLookEvent(log, attached.sha256, found, board, wishes));
    case "firmware": {
      const { image } = found;
      const verdict = firmwareVerdict({
        bytes,
        image,
        sameBoard: await sameBoardImages(store, log, attached.sha256),
        good: board === null ? [] : await goodImages(store, board.name, { apartFrom: job }),
        host: board?.host ?? null,
      });
      return shown({ kind: "firmware", attachment: attached.sha256, image, verdict });
    }
    case "trace":
      return await startFindings({ path, name: attached.name, board, wishes, sha256: attached.sha256 });
    case "tests":
      return testFindings(log, attached, found.tests);
    case "damaged-tests":
      if (wishes.as === "tests")
        throw new BenchError(
          "bad-input",
          `Cannot read ${quoted(attached.name)} as test results: ${found.because}; the file itself is stored`,
        );
      return {
        events: [],
        notes: [`${attached.name} is stored, but none of its tests was filed: ${found.because}`],
      };
    case "nothing":
      if (wishes.as === "host")
        throw new BenchError(
          "bad-input",
          `Cannot read ${quoted(attached.name)} as a host look: it should be the document of host-look, the lines of its --watch, or text from lspci -vvnn; the file itself is stored`,
        );
      return { events: [], notes: [] };
  }
}

/** Tests as events of their own. The same file again says nothing new: what it holds would count twice. */
function testFindings(log: readonly StoredEvent[], attached: JobEventOf<"attachment">, tests: HostTest[]): Finding {
  const copies = eventsOf(log, "attachment").filter((each) => each.sha256 === attached.sha256);
  const filed = new Set(eventsOf(log, "test").map((each) => JSON.stringify(HostTest.parse(each.test))));
  const isKnown = copies.length > 1 && tests.every((test) => filed.has(JSON.stringify(test)));
  if (isKnown) return { events: [], notes: [`${attached.name} was taken in before; its tests are not filed twice.`] };
  const events: JobEvent[] = tests.map((test) => ({ kind: "test", test }));
  return { events, notes: notesOnRepair(log, events) };
}

function hostLookEvent(
  log: readonly StoredEvent[],
  attachment: string,
  { look, changes }: Pick<JobEventOf<"host-look">, "look" | "changes">,
  board: BoardFile | null,
  { port: named, control, clockAheadMs }: FilingWishes,
): JobEventOf<"host-look"> {
  const looks = eventsOf(log, "host-look");
  // The board stays in its slot from look to look unless it is said otherwise.
  const port = named ?? looks.findLast((each) => each.port !== null)?.port ?? null;
  const inPort = looks.filter((each) => each.port === port);
  const earlier =
    sinceRepair(log)
      .filter((each) => each.kind === "host-look")
      .findLast((each) => each.of === "board" && each.port === port)?.look ?? null;
  const verdict = hostVerdict({
    look,
    changes,
    earlier: isSameStart(earlier, look) ? earlier : null,
    control: inPort.findLast((each) => each.of === "control")?.look ?? null,
    port,
    host: control === true ? null : (board?.host ?? null),
  });
  return {
    kind: "host-look",
    attachment,
    of: control === true ? "control" : "board",
    port,
    look,
    changes,
    clockAheadMs: clockAheadMs ?? null,
    verdict,
  };
}

/** Totals begin anew with the host; where one of them fell it was started in between. */
function isSameStart(earlier: JobEventOf<"host-look">["look"] | null, now: JobEventOf<"host-look">["look"]): boolean {
  if (earlier === null) return false;
  const before = new Map(earlier.devices.map((each) => [each.address, each]));
  return now.devices.every(({ address, aer }) => {
    const was = before.get(address)?.aer;
    return (["correctable", "nonfatal", "fatal"] as const).every(
      (kind) => was?.[kind] == null || aer[kind] === null || aer[kind] >= was[kind],
    );
  });
}

async function startFindings(of: {
  path: string;
  name: string;
  board: BoardFile | null;
  wishes: FilingWishes;
  sha256: string;
}): Promise<Finding> {
  const { board, wishes, sha256 } = of;
  const isAsked = wishes.as === "trace";
  if (board === null) {
    if (!isAsked) return { events: [], notes: [] };
    throw new BenchError(
      "bad-input",
      `Cannot tell the start order from ${quoted(of.name)}: no run of this job names a board file, so give --board; the file itself is stored`,
    );
  }
  const known = new Set([...Object.keys(board.rails), ...Object.keys(board.feeds)]);
  try {
    const { atMs, columns } = await readStartCsv(of.path, {
      known,
      ...(wishes.names === undefined ? {} : { names: wishes.names }),
    });
    return {
      events: [{ kind: "start-order", attachment: sha256, result: startOrder({ atMs, volts: columns }, board) }],
      notes: [],
    };
  } catch (cause) {
    // A file with a time column need not be a start of this board.
    if (!(cause instanceof BenchError) || isAsked) throw cause;
    return { events: [], notes: [`${of.name} is stored, but no start could be read from it: ${cause.message}`] };
  }
}
