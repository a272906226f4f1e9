import { readdir, readFile } from "node:fs/promises";
import { extname, join } from "node:path";
import { BenchError } from "../../shared/bench-error.ts";

export interface PageFile {
  mediaType: string;
  bytes: Buffer;
  /** True where the name carries a hash of the content, so that a browser may keep it. */
  lasting: boolean;
}

const MEDIA_TYPES: Record<string, string> = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".svg": "image/svg+xml",
  ".png": "image/png",
  ".woff2": "font/woff2",
};

/**
 * The built page as a map from path to file, read once at the start: what is not in it cannot be asked for, whatever is
 * written in the path. Links and files of other kinds are left out. Throws `bad-input` where there is no built page.
 */
export async function loadPage(directory: string): Promise<Map<string, PageFile>> {
  const files = new Map<string, PageFile>();
  const entries = await readdir(directory, { recursive: true, withFileTypes: true }).catch(() => []);
  for (const entry of entries) {
    const mediaType = MEDIA_TYPES[extname(entry.name)];
    if (!entry.isFile() || mediaType === undefined) continue;
    const place = join(entry.parentPath, entry.name);
    const path = place.slice(directory.length).replaceAll("\\", "/").replace(/^\/*/, "/");
    files.set(path, {
      mediaType,
      bytes: await readFile(place),
      lasting: /-[A-Za-z0-9_-]{8,}\.[a-z0-9]+$/.test(entry.name),
    });
  }
  const index = files.get("/index.html");
  if (index === undefined) {
    throw new BenchError("bad-input", `The page is not built: ${directory} is missing; run "npm run build"`);
  }
  files.set("/", index);
  return files;
}
