import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

/** How the rows of the table begin that take an hour each, and so are measured by themselves. */
export const HOUR = "the page, an hour: ";
export const COLUMNS = ["what", "measured", "baseline of the same run", "ratio", "aim", "met"];
export const lineOf = (row) => `| ${COLUMNS.map((column) => row[column] ?? "").join(" | ")} |`;

/** The lines of the hour that a table has. */
export const hourLines = (table) => table.split("\n").filter((line) => line.startsWith(`| ${HOUR}`));

/** Puts the rows of an hour into docs/speed.md, in place of those of the hour before, at the end of the table. */
export function putHour(rows) {
  const file = fileURLToPath(new URL("../../docs/speed.md", import.meta.url));
  const lines = readFileSync(file, "utf8")
    .split("\n")
    .filter((line) => !line.startsWith(`| ${HOUR}`));
  lines.splice(lines.findLastIndex((line) => line.startsWith("|")) + 1, 0, ...rows.map(lineOf));
  writeFileSync(file, lines.join("\n"));
}
