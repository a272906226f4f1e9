/**
 * The first key that an object of a JSON text has twice, with its path ("rails.core"), or null. JSON.parse keeps the last
 * of them without a word. The text must be JSON.
 */
export function repeatedKey(text: string): string | null {
  const open: { keys: Set<string> | null; path: string; at: string; index: number }[] = [];
  const tokens = /"(?:[^"\\]|\\.)*"|[{}[\],:]/gs;
  let key: string | null = null;
  let token = tokens.exec(text);
  while (token !== null) {
    const next = tokens.exec(text);
    const [mark] = token;
    const top = open.at(-1);
    const inside = top === undefined ? "" : top.keys === null ? `${top.path}[${top.index}]` : joined(top.path, top.at);
    if (mark === "{" || mark === "[")
      open.push({ keys: mark === "{" ? new Set() : null, path: inside, at: "", index: 0 });
    else if (mark === "}" || mark === "]") open.pop();
    else if (mark === "," && top?.keys === null) top.index++;
    else if (mark.startsWith('"') && next?.[0] === ":" && top?.keys != null) {
      key = JSON.parse(mark) as string;
      if (top.keys.has(key)) return joined(top.path, key);
      top.keys.add(key);
      top.at = key;
    }
    token = next;
  }
  return null;
}

const joined = (path: string, key: string): string => (path === "" ? key : `${path}.${key}`);
