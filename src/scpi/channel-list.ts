/** Reads `(@1)`, `(@1,3,4:6)`: the channels in the order written, ranges unrolled. Undefined if it is not one. */
export function parseChannelList(text: string): number[] | undefined {
  const inside = /^\s*\(\s*@\s*([\d\s,:]+?)\s*\)\s*$/.exec(text)?.[1];
  if (inside === undefined) return undefined;
  const channels: number[] = [];
  for (const entry of inside.split(",")) {
    const ends = /^\s*(\d{1,6})\s*(?::\s*(\d{1,6})\s*)?$/.exec(entry);
    if (ends === null) return undefined;
    const first = Number(ends[1]);
    const last = Number(ends[2] ?? ends[1]);
    if (Math.abs(last - first) >= 1024) return undefined;
    const step = last < first ? -1 : 1;
    for (let channel = first; channel !== last + step; channel += step) channels.push(channel);
  }
  return channels;
}
