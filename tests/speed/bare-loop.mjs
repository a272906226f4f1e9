/** Nothing but a socket: switches the output on, asks the lines over and over for some seconds, switches off. */
import { connect } from "node:net";

const { address, lines, seconds } = JSON.parse(process.argv[2]);
const [, host, port] = /^TCPIP0::([\d.]+)::(\d+)::SOCKET$/.exec(address);
const socket = connect({ host, port: Number(port), noDelay: true });
await new Promise((resolve) => socket.once("connect", resolve));

let answered = () => {};
let text = "";
socket.on("data", (bytes) => {
  text += bytes.toString("latin1");
  if (!text.endsWith("\n")) return;
  text = "";
  answered();
});
const ask = (line) =>
  new Promise((resolve) => {
    answered = resolve;
    socket.write(`${line}\n`);
  });

for (const line of ["VOLT 12", "CURR 2", "OUTP1 ON"]) socket.write(`${line}\n`);
const untilMs = performance.now() + seconds * 1000;
for (let each = 0; performance.now() < untilMs; each++) await ask(lines[each % lines.length]);
socket.write("OUTP1 OFF\n");
await ask("*IDN?");
socket.destroy();
