/** Nothing but a socket: asks for readings over and over, and says off to a bad one. What no program here can be faster than. */
import { connect } from "node:net";

const { address } = JSON.parse(process.argv[2]);
const [, host, port] = /^TCPIP0::([\d.]+)::(\d+)::SOCKET$/.exec(address);
const ASK = "MEAS1:VOLT?;:MEAS1:CURR?;:SOUR1:VOLT?;:OUTP1?;:SOUR1:CURR?\n";
const socket = connect({ host, port: Number(port), noDelay: true });
socket.once("connect", () => socket.write(ASK));
let text = "";
socket.on("data", (bytes) => {
  text += bytes.toString("latin1");
  if (!text.endsWith("\n")) return;
  socket.write(text.startsWith("9.9E37") ? `\nOUTP1 OFF\n${ASK}` : ASK);
  text = "";
});
process.on("message", () => process.exit(0));
