import { readFileSync } from "node:fs";
import { connect } from "node:net";

/** Asks the first supply of a bench file whether its output is on, over a connection of its own, and prints the answer. */
const { instruments } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const { address } = Object.values(instruments).find(({ kind }) => kind === "supply");
const [, host, port] = address.split("::");
const socket = connect({ host, port: Number(port) });
socket.on("error", () => process.exit(0));
socket.on("data", (bytes) => {
  process.stdout.write(bytes.toString("latin1"));
  socket.destroy();
});
socket.write("OUTP?\n");
