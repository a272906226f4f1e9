/**
 * The text with lines broken between words so that none is longer than `width` characters, if its words allow. A line that
 * goes on stands under the first word of its beginning: two more where that begins with a dash.
 */
export function wrapWords(text: string, width: number): string {
  return text
    .split("\n")
    .map((line) => wrapLine(line, width))
    .join("\n");
}

function wrapLine(line: string, width: number): string {
  if (line.length <= width) return line;
  const lead = /^\s*(- )?/.exec(line)?.[0].length ?? 0;
  const [first = "", ...words] = line.slice(lead).split(" ");
  const lines: string[] = [];
  let now = line.slice(0, lead) + first;
  for (const word of words) {
    if (now.length + 1 + word.length <= width) now += ` ${word}`;
    else {
      lines.push(now);
      now = " ".repeat(lead) + word;
    }
  }
  return [...lines, now].join("\n");
}
