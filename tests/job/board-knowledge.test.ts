import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { crc32 } from "node:zlib";
import { unzipSync } from "fflate";
import { expect, test } from "vitest";
import type { BoardFile } from "../../shared/files/board-file.ts";
import { localHeader, zipCrc, zipTail } from "../../src/job/archive/stored-zip.ts";
import { exportBoard } from "../../src/job/board/export-board.ts";
import { forgetBoard, knownElsewhere, takeInBoard } from "../../src/job/board/known-elsewhere.ts";
import { readBoardArchive } from "../../src/job/board/read-board-archive.ts";
import { withRecordKnowledge } from "../../src/job/known/record-knowledge.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { BOARD } from "../verdict/synthetic.ts";
import { fileRun, sampleHeader, sampleVerdict, withFolder, withStore } from "./sample-job.ts";

const KIND = BOARD.name;
const OWNER = "A. Tern of Finch Lane";
const SERIAL = "K2-SERIAL-77001";

const segment = (kind: number, text: string): Buffer => {
  const body = Buffer.from(text);
  const length = Buffer.alloc(2);
  length.writeUInt16BE(body.length + 2);
  return Buffer.concat([Buffer.from([0xff, kind]), length, body]);
};
/** As small as the rules of ITU-T T.81 allow a picture to be told from its notes: no decoder is asked. */
const JPEG = Buffer.concat([
  Buffer.from([0xff, 0xd8]),
  segment(0xe0, "JFIF\0"),
  segment(0xe1, `Exif\0\0 ${OWNER}`),
  segment(0xfe, OWNER),
  segment(0xdb, "tables"),
  segment(0xda, "scan"),
  Buffer.from([1, 2, 0xff, 0, 3, 0xff, 0xd1, 4]),
  Buffer.from([0xff, 0xd9]),
  Buffer.from(`behind the end: ${OWNER}`),
]);
const chunk = (kind: string, text: string): Buffer => {
  const head = Buffer.alloc(4);
  head.writeUInt32BE(text.length);
  const body = Buffer.from(`${kind}${text}`);
  const sum = Buffer.alloc(4);
  sum.writeUInt32BE(crc32(body));
  return Buffer.concat([head, body, sum]);
};
const PNG = Buffer.concat([
  Buffer.from("89504e470d0a1a0a", "hex"),
  chunk("IHDR", "0123456789012"),
  chunk("tEXt", `Author\0${OWNER}`),
  chunk("IDAT", "data"),
  chunk("IEND", ""),
]);

const board: BoardFile = { ...BOARD, photos: ["front.jpg", "back.png"].map((file) => ({ file, points: {} })) };

/** Ten boards that passed, each of an owner, with serial numbers everywhere. */
async function filled(store: JobStore, amps = (index: number) => 0.8 + index / 100, boards = 14): Promise<void> {
  for (let index = 0; index < boards; index++) {
    const job = await store.newJob({ title: `${OWNER}, ${index}`, board: KIND });
    await store.appendEvent(job, { kind: "intake", owner: OWNER, serialNumber: `${SERIAL}-${index}`, symptom: "dead" });
    await store.appendEvent(job, {
      kind: "cold-readings",
      ohms: { in12: 400 + index },
      by: "hand",
      boardCelsius: 22,
    });
    const header = sampleHeader({ board: BOARD });
    const verdict = sampleVerdict({ class: "normal", plateauAmps: amps(index) });
    await fileRun(store, job, { header, verdict });
    await store.appendEvent(job, { kind: "result", result: "passed", text: OWNER });
  }
}

async function exported(folder: string, amps?: (index: number) => number): Promise<string> {
  const photos = join(folder, "photos");
  mkdirSync(photos, { recursive: true });
  writeFileSync(join(photos, "front.jpg"), JPEG);
  writeFileSync(join(photos, "back.png"), PNG);
  const out = join(folder, "board.zip");
  await withStore(async (store) => {
    await filled(store, amps);
    await exportBoard(store, { kind: KIND, shop: "heron-lane", out, board: { file: board, folder: photos } });
  });
  return out;
}

const takenIn = async (dir: string, path: string, own: string | null = "tern-street") => {
  const checked = await readBoardArchive(path);
  try {
    return await takeInBoard(dir, checked, own);
  } finally {
    await checked.close();
  }
};

test("an archive holds means, spreads and counts, the board file and the pictures, and nothing of whose boards they were", () =>
  withFolder(async (folder) => {
    const bytes = readFileSync(await exported(folder));
    const files = unzipSync(bytes);
    expect(Object.keys(files)).toEqual(["knowledge.json", "board.json", "front.jpg", "back.png"]);
    const text = Buffer.from(bytes).toString("latin1");
    for (const secret of [OWNER, SERIAL, "Finch", "1001"]) expect(text).not.toContain(secret);
    const knowledge = JSON.parse(Buffer.from(files["knowledge.json"] ?? []).toString());
    // 0.80 to 0.93 A in steps of 10 mA: mean 0.865, and s = 0.01·√(14·15/12), the spread of whole numbers 1 to 14.
    expect(knowledge.draws).toHaveLength(1);
    expect(knowledge.draws[0]).toMatchObject({ feeds: ["aux"], supply: "TERN STREET,BENCH SUPPLY", boards: 14 });
    expect(knowledge.draws[0].meanAmps).toBeCloseTo(0.865, 9);
    expect(knowledge.draws[0].betweenAmps).toBeCloseTo(0.01 * Math.sqrt((14 * 15) / 12), 9);
    expect(knowledge.points).toMatchObject([{ point: "in12", quantity: "ohms", boards: 14, least: 400, most: 413 }]);
    expect(JSON.parse(Buffer.from(files["board.json"] ?? []).toString())).toEqual(board);
    expect(Buffer.from(files["front.jpg"] ?? []).subarray(-2)).toEqual(Buffer.from([0xff, 0xd9]));
    expect(Buffer.from(files["back.png"] ?? []).includes("IDAT")).toBe(true);
    const again = join(folder, "again");
    mkdirSync(again);
    expect(readFileSync(await exported(again)).equals(bytes)).toBe(true);
  }));

test("what is taken in is kept apart, weighs in the next run's band, and can be forgotten", () =>
  withFolder(async (folder) => {
    const out = await exported(folder);
    await withStore(async (store, dir) => {
      const header = sampleHeader({ board: BOARD });
      expect((await withRecordKnowledge(store, header)).baseline).toBeUndefined();
      const { folder: place, done } = await takenIn(dir, out);
      expect(done).toBe("taken-in");
      expect(readdirSync(place).sort()).toEqual(["back.png", "board.json", "front.jpg", "knowledge.json"]);
      expect(await store.list()).toEqual([]);
      expect(await store.everPassed(KIND, 10)).toEqual([]);
      const alone = (await withRecordKnowledge(store, header)).baseline;
      expect(alone).toMatchObject({ kind: "with-other-shops", boards: 0, captures: 0, elsewhere: 14 });
      expect(alone?.because[0]).toContain("14 of heron-lane, which count for 3.5");
      // About the mean of theirs; own boards that draw more pull it up.
      expect(((alone?.band?.[0] ?? 0) + (alone?.band?.[1] ?? 0)) / 2).toBeCloseTo(0.865, 6);
      await filled(store, (index) => 1 + index / 100, 3);
      const both = (await withRecordKnowledge(store, header)).baseline;
      // (3.5 · 0.865 + 3 · 1.01) / 6.5, by hand.
      expect(((both?.band?.[0] ?? 0) + (both?.band?.[1] ?? 0)) / 2).toBeCloseTo(0.93192, 4);
      expect(both).toMatchObject({ kind: "with-other-shops", boards: 3, elsewhere: 14 });
      const warm = sampleHeader({ board: BOARD, conditions: { ...header.conditions, fans: "on" } });
      expect((await withRecordKnowledge(store, warm)).baseline?.because.join(" ")).toContain("left out");
      expect((await takenIn(dir, out)).done).toBe("same");
      const [taken] = await knownElsewhere(dir, KIND);
      await forgetBoard(dir, taken?.id ?? "");
      expect((await withRecordKnowledge(store, header)).baseline).toMatchObject({ kind: "prediction", boards: 3 });
      expect(existsSync(place)).toBe(false);
    });
  }));

test("a newer archive of the same shop stands for the older one; one's own shop's is refused", () =>
  withFolder(async (folder) => {
    const first = await exported(folder);
    const other = join(folder, "other");
    mkdirSync(other);
    const second = await exported(other, (index) => 0.9 + index / 100);
    const dir = join(folder, "data");
    mkdirSync(dir);
    await takenIn(dir, first);
    expect((await takenIn(dir, second)).replaced).toHaveLength(1);
    expect(await knownElsewhere(dir)).toHaveLength(1);
    await expect(takenIn(dir, first, "heron-lane")).rejects.toThrow(/this shop itself/);
  }));

const packed = (contents: [string, string | Buffer][]): Buffer => {
  const parts = contents.map(([name, content]) => {
    const bytes = Buffer.from(content);
    return { name, bytes: bytes.length, crc: zipCrc(bytes), content: bytes };
  });
  return Buffer.concat([...parts.flatMap((part) => [localHeader(part), part.content]), zipTail(parts)]);
};
function archiveOf(contents: [string, string | Buffer][], changes: object = {}): Buffer {
  const files = contents.map(([name, content]) => ({
    name,
    bytes: Buffer.byteLength(content),
    sha256: createHash("sha256").update(content).digest("hex"),
  }));
  const knowledge = { format: "firstamp-board", version: 1, kind: KIND, shop: "evil", draws: [], points: [], files };
  return packed([["knowledge.json", `${JSON.stringify({ ...knowledge, ...changes }, null, 1)}\n`], ...contents]);
}
const BOARD_TEXT = `${JSON.stringify(board)}\n`;
const DRAW = {
  ...{ feeds: ["in12"], supply: "x", leads: "x", fans: "off", host: "none", boards: 3, captures: 3 },
  ...{ meanAmps: 1, betweenAmps: 0.1, standardU: 0.01 },
};

test.each<[string, () => Buffer, RegExp]>([
  ["no zip", () => Buffer.from("hello"), /not an archive of a board/],
  ["an archive of something else", () => packed([["job.json", "{}"]]), /knowledge.json is missing/],
  ["no JSON", () => packed([["knowledge.json", "{"]]), /not JSON/],
  ["a newer form", () => archiveOf([], { version: 2 }), /newer firstamp/],
  ["more than it should hold", () => archiveOf([], { owner: OWNER }), /wrong form/],
  ["a shop that is a path", () => archiveOf([], { shop: "../../x" }), /wrong form/],
  ["a draw that is no number", () => archiveOf([], { draws: [{ ...DRAW, meanAmps: "1e9" }] }), /wrong form/],
  ["a draw of no board", () => archiveOf([], { draws: [{ ...DRAW, boards: 0 }] }), /wrong form/],
  ["a path out of the folder", () => archiveOf([["../evil.png", PNG]]), /wrong form/],
  ["a hidden file", () => archiveOf([[".profile", PNG]]), /wrong form/],
  [
    "a file that no board file names",
    () =>
      archiveOf([
        ["board.json", BOARD_TEXT],
        ["extra.png", PNG],
      ]),
    /not a photograph/,
  ],
  [
    "a photograph that is a script",
    () =>
      archiveOf([
        ["board.json", BOARD_TEXT],
        ["front.jpg", "<script>"],
      ]),
    /not a valid PNG or JPEG/,
  ],
  [
    "a board file of another kind",
    () => archiveOf([["board.json", `${JSON.stringify({ ...board, name: "Wren" })}\n`]]),
    /another kind/,
  ],
  ["a board file that is none", () => archiveOf([["board.json", '{"version":1}']]), /not a board file/],
  [
    "the same name twice",
    () =>
      packed([
        ["knowledge.json", "{}"],
        ["knowledge.json", "{}"],
      ]),
    /twice/,
  ],
  [
    "a wrong hash",
    () =>
      archiveOf([["board.json", BOARD_TEXT]], {
        files: [{ name: "board.json", bytes: BOARD_TEXT.length, sha256: "0".repeat(64) }],
      }),
    /does not match the list/,
  ],
  [
    "a file that is not listed",
    () => archiveOf([["board.json", BOARD_TEXT]], { files: [] }),
    /does not match its content/,
  ],
  [
    "nine megabytes of text",
    () => packed([["knowledge.json", Buffer.alloc(9 * 1024 * 1024, 32)]]),
    /larger than 8 MiB/,
  ],
])("an archive with %s is refused with a reason, and nothing is written", (_, bytes, reason) =>
  withFolder(async (dir) => {
    const path = join(dir, "bad.zip");
    writeFileSync(path, bytes());
    await expect(readBoardArchive(path)).rejects.toMatchObject({
      code: "bad-input",
      message: expect.stringMatching(reason),
    });
    expect(readdirSync(dir)).toEqual(["bad.zip"]);
  }),
);

test("an archive with any one byte changed or cut is refused", () =>
  withFolder(async (folder) => {
    const whole = readFileSync(await exported(folder));
    const path = join(folder, "changed.zip");
    for (let at = 0; at < whole.length; at += 61) {
      const changed = Buffer.from(whole);
      changed[at] = (changed[at] ?? 0) ^ 0x20;
      writeFileSync(path, changed);
      await expect(readBoardArchive(path), `byte ${at}`).rejects.toMatchObject({ code: "bad-input" });
      writeFileSync(path, whole.subarray(0, at));
      await expect(readBoardArchive(path), `cut at ${at}`).rejects.toMatchObject({ code: "bad-input" });
    }
  }));

test("a photograph that is none keeps a board from being given away, and so does a kind that nobody knows", () =>
  withFolder(async (folder) => {
    writeFileSync(join(folder, "front.jpg"), "no picture");
    writeFileSync(join(folder, "back.png"), PNG.subarray(0, 40));
    const out = join(folder, "board.zip");
    await withStore(async (store) => {
      const of = { shop: "heron-lane", out };
      await expect(exportBoard(store, { ...of, kind: KIND, board: { file: board, folder } })).rejects.toThrow(
        /not a valid PNG or JPEG/,
      );
      await expect(exportBoard(store, { ...of, kind: "Nobody's" })).rejects.toThrow(/No run in this record/);
      await expect(exportBoard(store, { ...of, kind: "Wren", board: { file: board, folder } })).rejects.toThrow(
        /should be of kind "Wren"/,
      );
    });
    expect(existsSync(out)).toBe(false);
  }));
