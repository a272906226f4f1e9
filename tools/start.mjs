import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { root } from "./root.mjs";

/** `npm start`: the program on a simulated bench, in this process, so that Ctrl-C reaches it once and directly. */
const main = join(root, "dist", "src", "main.js");
process.argv = [process.execPath, main, "try", ...process.argv.slice(2)];
await import(pathToFileURL(main).href);
