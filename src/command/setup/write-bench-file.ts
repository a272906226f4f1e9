import { randomUUID } from "node:crypto";
import { link, lstat, open, rename, rm } from "node:fs/promises";
import path from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { readDocument } from "../input/read-document.ts";

/** The kind of file at a path where a bench file shall be written. */
export type Place = "free" | "bench-file" | "something-else";

/** Says what is there; a link, a folder, a device and a file that is no bench file are all something else. */
export async function lookAtPlace(file: string): Promise<Place> {
  const found = await lstat(file).catch((cause: NodeJS.ErrnoException) => {
    if (cause.code === "ENOENT" || cause.code === "ENOTDIR") return null;
    throw new BenchError("bad-input", `Cannot look at ${quoted(file)}: ${messageOf(cause)}; nothing was written`, {
      cause,
    });
  });
  if (found === null) return "free";
  if (!found.isFile()) return "something-else";
  return await readDocument({ schema: BenchFile, what: "bench file", file }).then(
    () => "bench-file" as const,
    () => "something-else" as const,
  );
}

/**
 * Writes a bench file, readable by its owner only; it is there whole or not at all. A bench file that is there stays unless
 * `replace`; anything else that is there stays always. Throws BenchError "bad-input" that says what stands in the way, with
 * `detail.there` "bench-file" where `replace` would do.
 */
export async function writeBenchFile(file: string, bench: BenchFile, { replace }: { replace: boolean }): Promise<void> {
  if (!file.endsWith(".json")) {
    throw new BenchError(
      "bad-input",
      `Cannot write a bench file to ${quoted(file)}: its name should end in .json; nothing was written`,
    );
  }
  const there = await lookAtPlace(file);
  if (there === "something-else")
    throw new BenchError(
      "bad-input",
      `Cannot write a bench file to ${quoted(file)}: another kind of file is there; nothing was written. Give another name`,
    );
  if (there === "bench-file" && !replace) throw isThere(file);
  const making = path.join(path.dirname(file), `.${path.basename(file)}.${randomUUID()}`);
  try {
    const made = await open(making, "wx", 0o600);
    try {
      await made.writeFile(`${JSON.stringify(bench, null, 2)}\n`);
      await made.sync();
    } finally {
      await made.close();
    }
    // A link is refused where a file has come in the meantime; a rename would replace it.
    if (replace) await rename(making, file);
    else await link(making, file);
  } catch (cause) {
    if (cause instanceof Error && "code" in cause && cause.code === "EEXIST") throw isThere(file);
    throw new BenchError(
      "bad-input",
      `Cannot write the bench file ${quoted(file)}: ${messageOf(cause)}; nothing was written`,
      { cause },
    );
  } finally {
    await rm(making, { force: true });
  }
}

const isThere = (file: string): BenchError =>
  new BenchError("bad-input", `Cannot write ${quoted(file)}: a bench file is there already; nothing was written`, {
    detail: { there: "bench-file" },
  });
