import { readFile, stat } from "node:fs/promises";

/** The group that may open a device, by name; "dialout", the usual one, where that cannot be told. */
export async function deviceGroup(path: string, groupFile = "/etc/group"): Promise<string> {
  const gid = await stat(path).then(
    (found) => found.gid,
    () => 0,
  );
  const groups = await readFile(groupFile, "utf8").catch(() => "");
  const name = groups
    .split("\n")
    .find((line) => line.split(":")[2] === String(gid))
    ?.split(":")[0];
  return gid === 0 || name === undefined ? "dialout" : name;
}
