import { readAhead } from "../job/store/event-document.ts";
import type { JobStore } from "../job/store/job-store.ts";
import type { Waiting } from "../job/store/local-set.ts";
import type { LoggedEvent, RecordSet } from "../job/store/record-set.ts";
import { fetchFiles, sendFiles } from "./exchange-files.ts";
import type { ShopDatabase } from "./shop-database.ts";
import { isCopied, isWorthRepeating } from "./shop-trouble.ts";

export interface ExchangeOptions {
  store: JobStore;
  database: ShopDatabase;
  /** Events in one transaction. Default 250: a thread that does something else too is held up for a few milliseconds at a time. */
  batch?: number;
  /** Told in a sentence what could not be taken in. */
  onTrouble?: (sentence: string) => void;
  /** Asked between two batches; true ends the exchange early. */
  isOver?: () => boolean;
}

export interface Exchanged {
  sent: number;
  received: number;
  waiting: Waiting;
}

/** Events in one transaction where nothing else goes on in the process. */
export const LARGE_BATCH = 2000;

/** Between two batches whatever else this process does gets its turn. */
const nextTurn = () => new Promise<void>((resolve) => void setImmediate(resolve));

/**
 * Sends what waits to the shop's database and takes in what other benches filed, until there is neither. Every step may be
 * cut short anywhere and done again: nothing is lost by that, and nothing is there twice. Throws what the database or the
 * record throws; what was sent and taken in until then stands.
 */
export async function exchangeOnce(options: ExchangeOptions): Promise<Exchanged> {
  const { store, database } = options;
  await database.prepare();
  const done: Exchanged = { sent: 0, received: 0, waiting: await store.set.waiting() };
  for (;;) {
    let moved = await sendEvents(options, done);
    moved += await takeInEvents(options, done);
    moved += await sendFiles(options);
    moved += await fetchFiles(options);
    done.waiting = await store.set.waiting();
    if (moved === 0 || options.isOver?.() === true) return done;
  }
}

async function sendEvents(options: ExchangeOptions, done: Exchanged): Promise<number> {
  const { store, database, batch = 250, isOver } = options;
  const { set } = store;
  let sent = 0;
  for (const origin of await set.ownOrigins()) {
    let from = await database.top(origin);
    if (!(await holdsTheSame(options, origin, from))) {
      await set.leaveOrigin(origin);
      return sent + (await sendEvents(options, done));
    }
    // Less than it held before: the database was put back from a backup, and files may be gone with it.
    if (from < (await set.known(origin))) await set.forgetSent();
    await set.setKnown(origin, from);
    const top = await set.top(origin);
    if (from < top) await database.addOrigin(origin);
    const ahead = readerOf(set, origin, batch);
    if (from < top) ahead.read(from);
    while (from < top && isOver?.() !== true) {
      const logged = await ahead.next();
      const last = logged.at(-1);
      if (last === undefined) break;
      try {
        const filing = again(() => database.takeIn(origin, logged));
        if (last.no < top) ahead.read(last.no);
        await filing;
      } catch (cause) {
        if (!isCopied(cause)) throw cause;
        await set.leaveOrigin(origin);
        return sent + (await sendEvents(options, done));
      }
      await set.setKnown(origin, last.no);
      from = last.no;
      sent += logged.length;
      done.sent += logged.length;
      await nextTurn();
    }
  }
  return sent;
}

/** Whether what the database has of an own log is what this record filed: not so where one of the two is a copy or was put back. */
async function holdsTheSame({ store, database }: ExchangeOptions, origin: string, upTo: number): Promise<boolean> {
  if (upTo === 0) return true;
  return (await database.eventAt(origin, upTo)) === (await store.set.eventAt(origin, upTo));
}

async function takeInEvents(options: ExchangeOptions, done: Exchanged): Promise<number> {
  const { store, database, batch = 250, isOver, onTrouble } = options;
  const { set } = store;
  const own = new Set(await set.ownOrigins());
  let received = 0;
  for (const [origin, top] of await database.tops()) {
    if (own.has(origin)) continue;
    let from = await set.heard(origin);
    const ahead = readerOf(database, origin, batch);
    if (from < top) ahead.read(from);
    while (from < top && isOver?.() !== true) {
      const logged = await ahead.next();
      const last = logged.at(-1);
      if (last === undefined) break;
      if (last.no < top) ahead.read(last.no);
      // A record on this thread holds it up; by now the question for what comes next is on its way.
      await nextTurn();
      const taken = await set.takeIn(origin, logged);
      for (const each of taken.troubles) onTrouble?.(each);
      from = last.no;
      received += logged.length;
      done.received += taken.events.length;
      await nextTurn();
    }
  }
  return received;
}

/** Reads the next events of a log while the other side files those before. */
function readerOf(from: RecordSet, origin: string, batch: number) {
  let reading: Promise<LoggedEvent[]> = Promise.resolve([]);
  return {
    /** Begins to read what comes after a number. */
    read(no: number): void {
      reading = from.after(origin, no, batch).then(async (logged) => {
        await readAhead(logged.map(({ event }) => event));
        return logged;
      });
      // Nobody may ask for it any more, where filing what came before failed.
      reading.catch(() => undefined);
    },
    next: (): Promise<LoggedEvent[]> => reading,
  };
}

async function again<T>(work: () => Promise<T>): Promise<T> {
  for (let attempt = 1; ; attempt++) {
    try {
      return await work();
    } catch (cause) {
      if (attempt === 5 || !isWorthRepeating(cause)) throw cause;
    }
  }
}
