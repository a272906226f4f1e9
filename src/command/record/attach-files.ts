import { BoardFile } from "../../../shared/files/board-file.ts";
import { counted } from "../../../shared/words/counted.ts";
import { type FilingWishes, fileFindings } from "../../job/filing/file-findings.ts";
import { eventText } from "../../job/report/event-text.ts";
import { readDocument } from "../input/read-document.ts";
import { printDocument, say } from "../text/people.ts";
import { withRecord } from "./with-record.ts";

export interface AttachFilesOptions extends Pick<FilingWishes, "as" | "port" | "control"> {
  data?: string;
  json?: boolean;
  caption?: string;
  /** Path of the board file. */
  board?: string;
  /** Seconds. */
  clockAhead?: number;
  name: Record<string, string>;
}

/** Keeps the files, files what they show, and says both. Throws BenchError as the record and the files' readers do. */
export async function attachFiles(job: string, files: readonly string[], options: AttachFilesOptions): Promise<void> {
  const caption = options.caption === undefined ? {} : { caption: options.caption };
  const wishes = await wishesOf(options);
  const filed = await withRecord(options.data, async (store) => {
    const id = await store.findJob(job);
    const attached = [];
    for (const file of files) {
      const { id: event, seq, event: said } = await store.attach(id, file, caption);
      if (said.kind !== "attachment") continue;
      const { sha256, name, mediaType, bytes } = said;
      if (!options.json) say(`Stored ${name} (${mediaType}, ${counted(bytes, "byte")}) as entry ${seq}.`);
      const { filed: findings, notes } = await fileFindings(store, id, said, wishes);
      if (!options.json) {
        for (const note of notes) say(`note: ${note}`);
        for (const each of findings) say(`Number ${each.seq}: ${eventText(each.event)}`);
      }
      const shown = findings.map((each) => each.event);
      attached.push({ event, seq, sha256, name, mediaType, bytes, finding: shown[0] ?? null, findings: shown, notes });
    }
    return { job: id, attached };
  });
  if (options.json) printDocument(filed);
}

async function wishesOf({ as, port, control, clockAhead, board, name }: AttachFilesOptions): Promise<FilingWishes> {
  return {
    ...(as === undefined ? {} : { as }),
    ...(port === undefined ? {} : { port }),
    ...(control === undefined ? {} : { control }),
    ...(clockAhead === undefined ? {} : { clockAheadMs: 1000 * clockAhead }),
    ...(board === undefined
      ? {}
      : { board: await readDocument({ schema: BoardFile, what: "board file", file: board }) }),
    names: name,
  };
}
