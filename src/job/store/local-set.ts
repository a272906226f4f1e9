import type { Kysely } from "kysely";
import type { EndState, JobTables } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import type { OwnLog } from "./own-log.ts";
import { type RecordSet, recordSet, takeInEvents } from "./record-set.ts";

/** A file of the record that is named by an id: the readings of a capture, or the bytes of an attachment. */
export interface RecordFile {
  kind: "capture" | "attachment";
  id: string;
}

/** The entries that have not reached the shop's database yet. */
export interface Waiting {
  events: number;
  files: number;
  /** When the oldest of the events was filed, by this bench's wall clock; null where none waits. */
  since: string | null;
}

/** A record of one bench as a set, with what it knows of the shop's database. */
export interface LocalSet extends RecordSet {
  /** The origin that is filed under now. */
  readonly origin: string;
  /** Whether this record files or filed under an origin. */
  isOwn(origin: string): boolean;
  /** The origins whose logs this record sends. */
  ownOrigins(): Promise<string[]>;
  /** Files everything anew under a new origin, and sends no more under `left`. */
  leaveOrigin(left: string): Promise<void>;
  /** The length of an origin's log in the shop's database that was taken in, or was filed here. */
  heard(origin: string): Promise<number>;
  /** The length of an own log that the shop's database is known to hold. */
  known(origin: string): Promise<number>;
  setKnown(origin: string, no: number): Promise<void>;
  waiting(): Promise<Waiting>;
  /** Files that are whole here and not known to be in the shop's database. */
  unsent(): Promise<RecordFile[]>;
  markSent(files: readonly RecordFile[]): Promise<void>;
  /** Forgets which files were sent: the database was put back. */
  forgetSent(): Promise<void>;
  /** Files that events of other benches name and that have not come. */
  missing(): Promise<RecordFile[]>;
  /** Says that the file of a capture of another bench is here, whole. */
  endForeign(capture: string, state: EndState): Promise<void>;
  /** Says that the bytes of an attachment are here. */
  addAttachment(kept: JobTables["attachment"]): Promise<void>;
}

/**
 * An own origin that another record goes by as well is known by less than nothing: the log of it here is not the one of the
 * shop's database, so how much of that was taken in is counted here, downwards from -1.
 */
const LEFT = -1;

export interface LocalSetParts {
  db: Kysely<JobTables>;
  database: RecordDatabase;
  log: OwnLog;
  /** Runs a write in its turn, with the record's own errors. */
  write<T>(tried: string, run: () => Promise<T>): Promise<T>;
}

export function localSet({ db, database, log, write }: LocalSetParts): LocalSet {
  const set = recordSet(db, database);

  const known: LocalSet["known"] = async (origin) => {
    const row = await db.selectFrom("exchange").select("known").where("origin", "=", origin).executeTakeFirst();
    return Number(row?.known ?? 0);
  };
  const setKnown: LocalSet["setKnown"] = (origin, no) =>
    write("Cannot note what the shop's database holds", async () => {
      await db
        .insertInto("exchange")
        .values({ origin, known: no })
        .onConflict((conflict) => conflict.column("origin").doUpdateSet({ known: no }))
        .execute();
    });
  const ownOrigins: LocalSet["ownOrigins"] = async () => {
    const rows = await db
      .selectFrom("origin")
      .leftJoin("exchange", "exchange.origin", "origin.id")
      .select(["origin.id", "exchange.known"])
      .orderBy("origin.since")
      .execute();
    return rows.filter((row) => Number(row.known ?? 0) > LEFT).map((row) => row.id);
  };

  const unsentCaptures = () =>
    db
      .selectFrom("capture_end")
      .leftJoin("sent", "sent.file", "capture_end.capture")
      .where("sent.file", "is", null)
      .select("capture_end.capture as id");
  const unsentAttachments = () =>
    db
      .selectFrom("attachment")
      .leftJoin("sent", "sent.file", "attachment.sha256")
      .where("sent.file", "is", null)
      .select("attachment.sha256 as id");

  return {
    ...set,
    get origin() {
      return log.origin;
    },
    isOwn: log.isOwnOrigin,
    async takeIn(origin, logged) {
      const isLeft = (await known(origin)) <= LEFT;
      const taken = await write("Cannot import what another bench filed", () =>
        isLeft
          ? db.transaction().execute((all) => takeInEvents(all, database, origin, logged))
          : set.takeIn(origin, logged),
      );
      for (const { stamp } of taken.events) log.clock.see(stamp);
      const last = logged.at(-1);
      if (isLeft && last !== undefined) await setKnown(origin, LEFT - last.no);
      return taken;
    },

    async heard(origin) {
      const holds = await known(origin);
      return holds <= LEFT ? LEFT - holds : await set.top(origin);
    },

    ownOrigins,
    known,
    setKnown,

    async leaveOrigin(left) {
      await setKnown(left, LEFT);
      await write("Cannot begin a new origin", async () => {
        const events = await db.selectFrom("job_event").select("id").orderBy("stamp").orderBy("id").execute();
        await log.beginOrigin(events.map((row) => row.id));
      });
    },

    async waiting() {
      let events = 0;
      let since: string | null = null;
      for (const origin of await ownOrigins()) {
        const from = await known(origin);
        const count = (await set.top(origin)) - from;
        if (count <= 0) continue;
        events += count;
        const [oldest] = await set.after(origin, from, 1);
        if (oldest !== undefined && (since === null || oldest.event.recorded_at < since))
          since = oldest.event.recorded_at;
      }
      // Counted, not listed: a page asks every few seconds, and after a week away there are many.
      let files = 0;
      for (const unsent of [unsentCaptures(), unsentAttachments()]) {
        const { n } = await db
          .selectFrom(unsent.as("unsent"))
          .select((each) => each.fn.countAll<number>().as("n"))
          .executeTakeFirstOrThrow();
        files += Number(n);
      }
      return { events, files, since };
    },

    async unsent() {
      const captures = await unsentCaptures().orderBy("capture_end.capture").execute();
      const attachments = await unsentAttachments().orderBy("attachment.sha256").execute();
      return [
        ...attachments.map(({ id }) => ({ kind: "attachment" as const, id })),
        ...captures.map(({ id }) => ({ kind: "capture" as const, id })),
      ];
    },

    markSent: (files) =>
      write("Cannot note what the shop's database holds", async () => {
        if (files.length === 0) return;
        await db
          .insertInto("sent")
          .values(files.map(({ id }) => ({ file: id })))
          .onConflict((conflict) => conflict.column("file").doNothing())
          .execute();
      }),

    forgetSent: () =>
      write("Cannot note what the shop's database holds", async () => void (await db.deleteFrom("sent").execute())),

    async missing() {
      const captures = await db
        .selectFrom("capture")
        .leftJoin("capture_end", "capture_end.capture", "capture.id")
        .leftJoin("job_event", "job_event.id", "capture.run")
        .select(["capture.id", "job_event.stamp"])
        .where("capture_end.capture", "is", null)
        .execute();
      const attachments = await db
        .selectFrom("job_fact")
        .leftJoin("attachment", "attachment.sha256", "job_fact.value")
        .select("job_fact.value")
        .distinct()
        .where("job_fact.field", "=", "file")
        .where("attachment.sha256", "is", null)
        .execute();
      return [
        ...attachments.map(({ value }) => ({ kind: "attachment" as const, id: value })),
        ...captures
          .filter(({ stamp }) => stamp !== null && !log.isOwn(stamp))
          .map(({ id }) => ({ kind: "capture" as const, id })),
      ];
    },

    endForeign: (capture, state) =>
      write("Cannot note the end of a capture", async () => {
        await db.transaction().execute(async (all) => {
          await all
            .insertInto("capture_end")
            .values({ capture, state })
            .onConflict((conflict) => conflict.column("capture").doNothing())
            .execute();
          await all
            .insertInto("sent")
            .values({ file: capture })
            .onConflict((conflict) => conflict.column("file").doNothing())
            .execute();
        });
      }),

    addAttachment: (kept) =>
      write("Cannot note an attachment", async () => {
        await db.transaction().execute(async (all) => {
          await all
            .insertInto("attachment")
            .values(kept)
            .onConflict((conflict) => conflict.column("sha256").doNothing())
            .execute();
          await all
            .insertInto("sent")
            .values({ file: kept.sha256 })
            .onConflict((conflict) => conflict.column("file").doNothing())
            .execute();
        });
      }),
  };
}
