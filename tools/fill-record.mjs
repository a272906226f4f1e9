import { randomBytes } from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "./root.mjs";

const built = (path) => import(new URL(`../dist/${path}`, import.meta.url).href);

const BOARDS = ["Kestrel K2", "Wren W1", "Heron H4", "Plover P3"];
const OWNERS = ["A. Tern", "B. Rook", "C. Finch", "D. Swift", "E. Crane", "F. Lark", "G. Dove", "H. Wren", "J. Jay"];
const SYMPTOMS = [
  "no picture",
  "fans spin once",
  "dead",
  "restarts under load",
  "artefacts when warm",
  "smell of burning",
];
const PARTS = ["capacitor C512", "inductor L2", "regulator U7", "fuse F1", "mosfet Q14", "connector J3", "crystal Y1"];
const CLASSES = ["dead-short", "standby-only", "partly-up", "core-alive", "normal", "overload", "open-input"];
/** Jobs in one transaction. */
const BATCH = 100;
const RAILS = ["12v", "5v", "3v3", "1v8", "core", "mem"];

/** Numbers from 0 to 1 that are the same for the same seed (mulberry32, from memory). */
function randomFrom(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** A UUID version 7 of a time of the past. */
function idAt(ms) {
  const hex = Math.trunc(ms).toString(16).padStart(12, "0");
  const rest = randomBytes(10).toString("hex");
  return `${hex.slice(0, 8)}-${hex.slice(8)}-7${rest.slice(0, 3)}-8${rest.slice(3, 6)}-${rest.slice(6, 18)}`;
}

/** The run that the record's tests use as well. */
const SAMPLE = JSON.parse(readFileSync(join(root, "tests", "job", "sample-run.json"), "utf8"));

const headerOf = ({ run, capture, startedAt, board }) => ({
  ...SAMPLE.header,
  ...{ run, capture, startedAt, program: "firstamp fill" },
  board: {
    version: 1,
    name: board,
    feeds: { aux: { order: 1, nominalVolts: 12, tolerance: [-0.08, 0.05], limitAmps: 5, maxVolts: 13.2 } },
  },
});

function endOf({ run, capture, name, amps, random }) {
  const { features } = SAMPLE.verdict;
  const verdict = {
    ...SAMPLE.verdict,
    class: name,
    candidates: [{ class: name, probability: 0.9 }],
    because: [`The draw settled at ${amps.toFixed(3)} A.`],
    energyJoules: amps * 180,
    features: {
      ...features,
      plateauAmps: amps,
      peakAmps: amps * (1.5 + random()),
      chargeCoulombs: 0.02 + random() / 50,
      inputFarads: 0.001 + random() / 500,
      shortOhms: name === "dead-short" ? 0.05 + random() / 5 : null,
      plateaus: [{ amps, startMs: 600, lengthMs: 14000 }],
    },
  };
  const outcome = {
    ended: "as-planned",
    trip: null,
    output: "off",
    limitToTry: null,
    raises: 0,
    reachedStage: "off",
  };
  return { run, capture, endedAtMs: 16000, outcome, verdict, energyJoules: amps * 180, roundTrip: {} };
}

/** The events of one invented job as rows, from when it was opened. */
export function inventedJob(number, openedMs, stamp) {
  const random = randomFrom(number);
  const one = (list) => list[Math.trunc(random() * list.length)];
  const job = idAt(openedMs);
  const [board, owner, part] = [one(BOARDS), one(OWNERS), one(PARTS)];
  const events = [];
  const captures = [];
  let atMs = openedMs;
  const say = (event, id) => {
    atMs += 60_000 * (1 + random() * 30);
    const row = { id: id ?? idAt(atMs), job, recorded_at: new Date(atMs).toISOString(), kind: event.kind };
    events.push({ ...row, stamp: stamp(atMs), body: JSON.stringify(event) });
  };
  say({ kind: "opened", title: `${owner}, number ${number}`, board });
  say({
    kind: "intake",
    owner,
    symptom: one(SYMPTOMS),
    ownersWords: `${one(SYMPTOMS)} since it fell behind the desk`,
    serialNumber: `${board.slice(0, 1)}${String(100_000 + number)}`,
  });
  say({ kind: "cold-readings", ohms: { aux: 12_400 + Math.trunc(random() * 500) }, by: "hand", boardCelsius: 22 });
  const power = (name, amps) => {
    const [run, capture] = [idAt(atMs), idAt(atMs + 1)];
    captures.push(capture);
    say(
      { kind: "run-started", header: headerOf({ run, capture, startedAt: new Date(atMs).toISOString(), board }) },
      run,
    );
    say({ kind: "run-ended", end: endOf({ run, capture, name, amps, random }) });
  };
  power(one(CLASSES), 0.05 + random() * 3);
  power(one(CLASSES), 0.05 + random() * 3);
  say({ kind: "note", text: `${one(RAILS)} reads low at ${part}, warm after a minute` });
  say({ kind: "repair", text: `replaced ${part}`, parts: [{ name: part, place: null, source: "new" }] });
  power("normal", 1.9 + random());
  if (random() < 0.8) say({ kind: "result", result: random() < 0.9 ? "passed" : "failed", text: null });
  return { job: { id: job, created_at: new Date(openedMs).toISOString() }, events, captures };
}

/**
 * Files so many invented jobs in a set of events, `db` being the same database: a batch in each transaction. `each` is told the
 * captures of a batch.
 */
export async function fillSet({ jobs, origin, set, db, clock, each = () => {} }) {
  // A job every hour up to now.
  const firstMs = Date.now() - jobs * 3_600_000;
  let no = await set.top(origin);
  let captures = 0;
  for (let from = 0; from < jobs; from += BATCH) {
    const batch = [];
    for (let number = from; number < Math.min(jobs, from + BATCH); number++)
      batch.push(inventedJob(number, firstMs + number * 3_600_000, (ms) => clock.next(ms)));
    await set.takeIn(
      origin,
      batch.flatMap(({ job, events }) => events.map((event) => ({ no: ++no, event, jobCreatedAt: job.created_at }))),
    );
    const made = batch.flatMap((job) => job.captures);
    await db
      .insertInto("capture_end")
      .values(made.map((capture) => ({ capture, state: "closed" })))
      .execute();
    each(made);
    captures += made.length;
  }
  return { captures };
}

/** Fills a record with so many invented jobs, three captures each; answers how many captures that was. */
export async function fill({ jobs, data }) {
  const [
    { openJobStore },
    { databasePath },
    { openSqliteFile },
    { recordSet },
    { StampClock },
    { chunkBytes },
    { Kysely },
  ] = await Promise.all([
    built("src/job/store/open-job-store.js"),
    built("src/job/database/database-path.js"),
    built("src/job/database/sqlite-file.js"),
    built("src/job/store/record-set.js"),
    built("src/job/store/stamp.js"),
    built("src/capture/chunk-format.js"),
    import("kysely"),
  ]);
  const store = await openJobStore(data, { ballastBytes: 0 });
  const { captureDir } = store;
  const { origin } = store.set;
  await store.close();
  const file = openSqliteFile(databasePath(data));
  const db = new Kysely({ dialect: file.dialect });
  try {
    return await fillSet({
      jobs,
      origin,
      set: recordSet(db, file),
      db,
      clock: new StampClock(origin, () => 0),
      each: (captures) => {
        for (const capture of captures)
          writeFileSync(join(captureDir, `${capture}.chunks`), capturedBytes(chunkBytes, capture));
      },
    });
  } finally {
    await db.destroy();
  }
}

/** A capture of two tenths of a second; the record's size, not a capture's, is what is filled for. */
function capturedBytes(chunkBytes, capture) {
  const readings = Array.from({ length: 20 }, (_, index) => ({
    eventAtMs: index * 10,
    reading: {
      feed: "aux",
      queriedAtMs: index * 10 - 4,
      atMs: index * 10,
      volts: { kind: "value", volts: 12 },
      amps: { kind: "value", amps: 0.8 },
      mode: "cv",
      together: true,
    },
  }));
  return Buffer.concat([chunkBytes(capture, 0, readings, false), chunkBytes(capture, 1, [], true)]);
}
