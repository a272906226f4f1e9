import { createHash } from "node:crypto";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { schemaProblem } from "../../../shared/files/schema-problem.ts";
import { CorrectableEvent, type JobEvent } from "../../../shared/record/job.ts";
import { ArchiveManifest } from "../../../shared/record/job-archive.ts";
import type { JobRows } from "../database/job-tables.ts";
import { HEAD_BYTES } from "../store/attachment-store.ts";
import { mediaTypeOf } from "../store/media-type.ts";
import { byStamp, stampsOfOld } from "../store/stamp.ts";
import { attachmentEntry, captureOfEntry, EVENTS, eventRow, formOf, MANIFEST, manifestText } from "./archive-form.ts";
import { openArchive, type Refuse } from "./open-archive.ts";

/** An archive every byte of which was checked. `pieces` reads one of its files again. */
export interface CheckedArchive {
  rows: JobRows;
  manifest: ArchiveManifest;
  /** Ids of the captures that have a file. */
  captures: string[];
  pieces(name: string): AsyncGenerator<Buffer>;
  close(): Promise<void>;
}

/**
 * Reads and checks a whole archive and writes nothing: form, sums, names, events, and that all parts belong together.
 * Entries are stored, never packed, so none can grow; texts are bounded. Throws BenchError "bad-input" with what is wrong.
 */
export async function readArchive(path: string): Promise<CheckedArchive> {
  const refuse = (why: string): never => {
    throw new BenchError("bad-input", `Cannot import ${quoted(path)}: ${why}; nothing was written`);
  };
  const archive = await openArchive(path, "a job archive", refuse);
  const { names, sizeOf, pieces, text } = archive;
  try {
    const manifest = readManifest(await text(MANIFEST), refuse);
    if (names.join("\n") !== [MANIFEST, ...manifest.files.map((each) => each.name)].join("\n")) {
      refuse("its list of files does not match its content");
    }
    const captures = checkNames(manifest, refuse);
    const attachments = attachmentsByName(manifest);
    for (const { name, bytes, sha256 } of manifest.files) {
      const hash = createHash("sha256");
      let head = Buffer.alloc(0);
      for await (const piece of pieces(name)) {
        hash.update(piece);
        if (head.length === 0) head = Buffer.from(piece.subarray(0, HEAD_BYTES));
      }
      const said = attachments.get(name);
      if (said !== undefined && said.mediaType !== mediaTypeOf(head))
        refuse(`${quoted(name)} is not ${quoted(said.mediaType)}`);
      if (sizeOf(name) !== bytes || hash.digest("hex") !== sha256)
        refuse(`${quoted(name)} does not match the list of files`);
    }
    const rows = readRows(manifest, await text(EVENTS), refuse);
    return { rows, manifest, captures, pieces, close: archive.close };
  } catch (error) {
    await archive.close();
    throw error;
  }
}

const attachmentsByName = ({ attachments }: ArchiveManifest): Map<string, ArchiveManifest["attachments"][number]> =>
  new Map(attachments.map((each) => [attachmentEntry(each.sha256), each]));

function readManifest(text: string, refuse: Refuse): ArchiveManifest {
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch {
    return refuse(`${MANIFEST} is not JSON`);
  }
  const version = (document as { version?: unknown } | null)?.version;
  if (typeof version === "number" && version > 2) return refuse(`it was made by a newer firstamp (form ${version})`);
  const parsed = ArchiveManifest.safeParse(document);
  if (!parsed.success) return refuse(`${MANIFEST} has a wrong form: ${schemaProblem(parsed.error)}`);
  if (manifestText(parsed.data) !== text) return refuse(`${MANIFEST} is not written the way this program writes it`);
  return parsed.data;
}

/** Checks that every name is one this program writes, for something the archive says it holds; answers which captures have a file. */
function checkNames(manifest: ArchiveManifest, refuse: Refuse): string[] {
  const listed = new Set(manifest.captures.map((each) => each.id));
  const attachments = attachmentsByName(manifest);
  const captures: string[] = [];
  for (const { name, bytes, sha256 } of manifest.files) {
    if (name === EVENTS) continue;
    const said = attachments.get(name);
    if (said !== undefined) {
      attachments.delete(name);
      if (said.sha256 !== sha256 || said.bytes !== bytes)
        refuse(`the attachment ${quoted(name)} does not match its name`);
      continue;
    }
    const capture = captureOfEntry(name);
    if (capture === null || !listed.delete(capture))
      refuse(`a file named ${quoted(name)} does not belong in a job archive`);
    captures.push(capture);
  }
  if (attachments.size > 0) refuse(`${[...attachments.keys()][0]} is missing`);
  return captures;
}

function readRows(manifest: ArchiveManifest, text: string, refuse: Refuse): JobRows {
  const job = manifest.job.id;
  if (!text.endsWith("\n")) refuse(`${EVENTS} does not end with a line end`);
  const ids = new Set<string>();
  const kinds = new Map<string, JobEvent["kind"]>();
  const kept = new Map(manifest.attachments.map((each) => [each.sha256, each]));
  const named = new Set<string>();
  const runs = new Map<string, string>();
  const events = text
    .slice(0, -1)
    .split("\n")
    .map((line, index) => {
      const row = eventRow(job, line, index + 1);
      if (typeof row === "string") return refuse(`line ${index + 1} of ${EVENTS} ${row}`);
      if (ids.has(row.id)) refuse(`the event ${row.id} is there twice`);
      ids.add(row.id);
      const event = JSON.parse(row.body) as JobEvent;
      if (
        event.kind === "correction" &&
        (kinds.get(event.of) !== event.event.kind || !CorrectableEvent.safeParse(event.event).success)
      ) {
        refuse(`line ${index + 1} of ${EVENTS} corrects nothing that can be corrected`);
      }
      kinds.set(row.id, event.kind);
      const said = event.kind === "correction" ? event.event : event;
      if (said.kind === "attachment") {
        const file = kept.get(said.sha256);
        if (file?.bytes !== said.bytes || file.mediaType !== said.mediaType)
          refuse(`line ${index + 1} of ${EVENTS} names a file that is missing or different`);
        named.add(said.sha256);
      }
      if (said.kind === "run-started") runs.set(said.header.run, said.header.capture);
      return row;
    });
  const unstamped = events.filter((row) => row.stamp === "");
  const stamps = stampsOfOld(unstamped.map((row) => row.recorded_at));
  unstamped.forEach((row, index) => {
    row.stamp = stamps[index] ?? "";
  });
  const misplaced = events.findIndex((row, index) => index > 0 && byStamp(events[index - 1] ?? row, row) > 0);
  if (misplaced !== -1) refuse(`line ${misplaced + 1} of ${EVENTS} is out of order by its stamp`);
  if (manifest.version !== formOf(events)) refuse(`it claims form ${manifest.version}, but does not have it`);
  if (events[0]?.kind !== "opened") refuse("its first event does not open the job");
  if (named.size !== manifest.attachments.length) refuse("it holds attachments that no event names");
  for (const { id, run } of manifest.captures) {
    if (runs.get(run) !== id) refuse(`the capture ${id} belongs to no run of the job`);
  }
  return {
    job: { id: job, created_at: manifest.job.createdAt },
    events,
    captures: manifest.captures.map((each) => ({ ...each, job })),
    attachments: manifest.attachments.map((each) => ({
      sha256: each.sha256,
      bytes: each.bytes,
      media_type: each.mediaType,
    })),
  };
}
