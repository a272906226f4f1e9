import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { Kysely } from "kysely";
import { BenchError } from "../../shared/bench-error.ts";
import type { EndState, JobTables } from "../job/database/job-tables.ts";
import { migrate } from "../job/database/migrations.ts";
import { openPostgres, type PostgresOptions } from "../job/database/postgres-file.ts";
import { type RecordSet, recordSet } from "../job/store/record-set.ts";
import { isRefused, whyAway } from "./shop-trouble.ts";

const PART_BYTES = 256 * 1024;

/** A file as the shop's database holds it. */
export interface HeldFile {
  id: string;
  /** null: a capture whose run was killed before its first reading. */
  sha256: string | null;
  bytes: number;
  state: EndState;
}

/** A bench as the shop's database knows it. */
export interface ShopBench {
  origin: string;
  since: string;
  events: number;
  /** Wall clock of what it filed last; null for nothing yet. */
  lastEventAt: string | null;
}

/** The shop's database: the set of what all benches filed, and the bytes of their files. */
export interface ShopDatabase extends RecordSet {
  /** Brings the tables up to this program. Throws BenchError "bad-input" for tables of a newer program. */
  prepare(): Promise<void>;
  /** Every origin that ever filed, with the last number of each. */
  tops(): Promise<Map<string, number>>;
  addOrigin(origin: string): Promise<void>;
  /** The complete ones among these captures and these attachments. */
  captures(ids: readonly string[]): Promise<HeldFile[]>;
  attachments(hashes: readonly string[]): Promise<JobTables["attachment"][]>;
  putCapture(capture: string, state: EndState, path: string | null): Promise<void>;
  putAttachment(kept: JobTables["attachment"], path: string): Promise<void>;
  /** The bytes with a hash, in order; the reader proves the hash. */
  pieces(sha256: string): AsyncGenerator<Buffer>;
  benches(): Promise<ShopBench[]>;
  close(): Promise<void>;
}

/** Opens the shop's database by its connection string; nothing is connected before the first question. */
export function openShopDatabase(url: string, options: PostgresOptions = {}): ShopDatabase {
  const database = openPostgres(url, options);
  const db = new Kysely<JobTables>({ dialect: database.dialect });
  const set = recordSet(db, database);
  let isPrepared = false;

  const origins = () => db.selectFrom("origin").selectAll().orderBy("id").execute();

  // The hash is the name of the chunks, so a file is read once for it and once more for its bytes: it may be large.
  const putChunks = async (path: string): Promise<{ sha256: string; bytes: number }> => {
    const hash = createHash("sha256");
    let bytes = 0;
    for await (const piece of createReadStream(path) as AsyncIterable<Buffer>) {
      hash.update(piece);
      bytes += piece.length;
    }
    const sha256 = hash.digest("hex");
    let part = 0;
    for await (const data of createReadStream(path, { highWaterMark: PART_BYTES }) as AsyncIterable<Buffer>) {
      await db
        .insertInto("chunk")
        .values({ sha256, part, data })
        .onConflict((conflict) => conflict.columns(["sha256", "part"]).doNothing())
        .execute();
      part++;
    }
    return { sha256, bytes };
  };

  return {
    ...set,

    async prepare() {
      if (isPrepared) return;
      try {
        await migrate(db, database, "the shop's database");
        isPrepared = true;
      } catch (cause) {
        if (cause instanceof BenchError || !isRefused(cause)) throw cause;
        throw new BenchError("bad-input", `The tables of the shop's database cannot be made: ${whyAway(cause)}`, {
          cause,
        });
      }
    },

    async tops() {
      const tops = new Map<string, number>();
      for (const { id } of await origins()) tops.set(id, await set.top(id));
      return tops;
    },

    async addOrigin(origin) {
      await db
        .insertInto("origin")
        .values({ id: origin, since: new Date().toISOString() })
        .onConflict((conflict) => conflict.column("id").doNothing())
        .execute();
    },

    async captures(ids) {
      if (ids.length === 0) return [];
      const rows = await db.selectFrom("capture_file").selectAll().where("capture", "in", ids).execute();
      return rows.map(({ capture, sha256, bytes, state }) => ({ id: capture, sha256, bytes: Number(bytes), state }));
    },

    async attachments(hashes) {
      if (hashes.length === 0) return [];
      return await db.selectFrom("attachment").selectAll().where("sha256", "in", hashes).execute();
    },

    async putCapture(capture, state, path) {
      const file = path === null ? { sha256: null, bytes: 0 } : await putChunks(path);
      await db
        .insertInto("capture_file")
        .values({ capture, ...file, state })
        .onConflict((conflict) => conflict.column("capture").doNothing())
        .execute();
    },

    async putAttachment(kept, path) {
      const { sha256 } = await putChunks(path);
      if (sha256 !== kept.sha256)
        throw new BenchError("bad-input", `The attachment ${kept.sha256} is damaged; it is not sent to the shop`);
      await db
        .insertInto("attachment")
        .values(kept)
        .onConflict((conflict) => conflict.column("sha256").doNothing())
        .execute();
    },

    async *pieces(sha256) {
      for (let part = 0; ; part++) {
        const row = await db
          .selectFrom("chunk")
          .select("data")
          .where("sha256", "=", sha256)
          .where("part", "=", part)
          .executeTakeFirst();
        if (row === undefined) return;
        yield row.data;
      }
    },

    async benches() {
      const benches: ShopBench[] = [];
      for (const { id, since } of await origins()) {
        const events = await set.top(id);
        const last = (await set.eventAt(id, events)) ?? "";
        const event = await db.selectFrom("job_event").select("recorded_at").where("id", "=", last).executeTakeFirst();
        benches.push({ origin: id, since, events, lastEventAt: event?.recorded_at ?? null });
      }
      return benches;
    },

    close: () => db.destroy(),
  };
}
