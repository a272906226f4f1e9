import { randomBytes } from "node:crypto";
import { chmod, lstat, mkdir, readFile, rm, writeFile } from "node:fs/promises";
import { dirname } from "node:path";

/**
 * The daemon's token, 64 hex digits, kept in a file only its owner can read so that scripts can show it. A file left by
 * a daemon that was killed is taken up again, and its pages find their way back; anything else that lies there (a link,
 * another's file, one that others can read) is replaced. A daemon that ends in order removes it.
 */
export async function takeToken(path: string): Promise<string> {
  await mkdir(dirname(path), { recursive: true, mode: 0o700 });
  const left = await tokenLeftAt(path);
  if (left !== null) return left;
  await rm(path, { force: true, recursive: true });
  const token = randomBytes(32).toString("hex");
  await writeFile(path, `${token}\n`, { flag: "wx", mode: 0o600 });
  // A umask can only take rights away, but the rights are the point of the file.
  await chmod(path, 0o600);
  return token;
}

async function tokenLeftAt(path: string): Promise<string | null> {
  const found = await lstat(path).catch(() => null);
  if (found === null || !found.isFile() || (found.mode & 0o077) !== 0) return null;
  if (process.getuid !== undefined && found.uid !== process.getuid()) return null;
  const text = (await readFile(path, "utf8").catch(() => "")).trim();
  return /^[0-9a-f]{64}$/.test(text) ? text : null;
}
