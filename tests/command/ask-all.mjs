// Another window: asks the daemon for these addresses at once and says what came of each. Arguments: the origin, the token, the JSON file of the list.
import { readFileSync } from "node:fs";

const [, , origin, token, file] = process.argv;
const answers = await Promise.all(
  JSON.parse(readFileSync(file, "utf8")).map(async ({ path, method = "GET", type, body }) => {
    const reply = await fetch(`${origin}${path}`, {
      method,
      headers: { authorization: `Bearer ${token}`, ...(type === undefined ? {} : { "content-type": type }) },
      ...(body === undefined ? {} : { body }),
    });
    const text = await reply.text();
    return { path, status: reply.status, bytes: text.length, lines: text.split("\n").length };
  }),
);
process.stdout.write(JSON.stringify(answers));
