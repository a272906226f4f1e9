import type { Kysely } from "kysely";
import type { JobTables } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import { logEvents } from "./file-events.ts";
import { readShopSettings } from "./shop-settings.ts";
import { benchOf, newOrigin, parseStamp, StampClock } from "./stamp.ts";

type Db = Kysely<JobTables>;

/** The entries that this record itself files: under which origin, with which stamps, and numbered from 1. */
export interface OwnLog {
  readonly origin: string;
  readonly clock: StampClock;
  /** Whether an event with this stamp was filed by this record, or before stamps told. */
  isOwn(stamp: string): boolean;
  isOwnOrigin(origin: string): boolean;
  /** Numbers events in a transaction; what it counted holds once `counting` has seen it committed. */
  append(db: Db, events: readonly string[]): Promise<void>;
  /** Runs a transaction that appends; the numbers are used again where it fails. */
  counting<T>(transaction: () => Promise<T>): Promise<T>;
  /** Begins a new origin, and numbers `events` under it. */
  beginOrigin(events: readonly string[]): Promise<void>;
}

/** The name of this bench in the shop, else "bench". Settings that cannot be read keep nobody from the record. */
async function benchName(dir: string): Promise<string> {
  const settings = await readShopSettings(dir).catch(() => null);
  return settings?.shared?.bench ?? "bench";
}

/** The log of the record in `dir`; one that is named anew in its shop's settings begins a new origin. */
export async function openOwnLog(
  db: Db,
  {
    database,
    dir,
    readOnly,
    nowMs,
  }: { database: Pick<RecordDatabase, "addRows">; dir: string; readOnly: boolean; nowMs: () => number },
): Promise<OwnLog> {
  const rows = await db.selectFrom("origin").select("id").orderBy("since").execute();
  const own = new Set(rows.map((row) => row.id));
  const latest = await db.selectFrom("job_event").select("stamp").orderBy("stamp", "desc").limit(1).execute();
  let origin = rows.at(-1)?.id ?? "";
  const clock = new StampClock(origin, nowMs);
  for (const { stamp } of latest) clock.see(stamp);
  const { top } = await db
    .selectFrom("log")
    .select((each) => each.fn.max<number | null>("no").as("top"))
    .where("origin", "=", origin)
    .executeTakeFirstOrThrow();
  let counted = Number(top ?? 0);
  let counting = counted;

  const begin = async (on: Db, name: string): Promise<void> => {
    origin = newOrigin(name);
    // After every earlier one also where the clock was set back.
    const { last } = await on
      .selectFrom("origin")
      .select((each) => each.fn.max<string | null>("since").as("last"))
      .executeTakeFirstOrThrow();
    const since = Math.max(nowMs(), last === null ? 0 : Date.parse(last) + 1);
    await on
      .insertInto("origin")
      .values({ id: origin, since: new Date(since).toISOString() })
      .execute();
    own.add(origin);
    clock.goBy(origin);
    counted = 0;
    counting = 0;
  };

  const log: OwnLog = {
    get origin() {
      return origin;
    },
    clock,
    isOwn(stamp) {
      const by = parseStamp(stamp)?.origin ?? "";
      return by === "" || own.has(by);
    },
    isOwnOrigin: (by) => own.has(by),
    async append(on, events) {
      await logEvents(on, database, { origin, first: counting + 1 }, events);
      counting += events.length;
    },
    async counting(transaction) {
      counting = counted;
      const done = await transaction();
      counted = counting;
      return done;
    },
    async beginOrigin(events) {
      await db.transaction().execute(async (all) => {
        await begin(all, benchOf(origin) ?? "bench");
        await log.append(all, events);
      });
      counted = counting;
    },
  };
  if (readOnly) return log;
  const name = await benchName(dir);
  if (benchOf(origin) !== name) await begin(db, name);
  return log;
}
