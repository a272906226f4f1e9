/** Open pages, which take what they are sent and count it. */
import { request } from "node:http";
import { WebSocket } from "ws";

const { urls, pages, protocol } = JSON.parse(process.argv[2]);
let frames = 0;

function ask(origin, path, { method = "GET", headers = {}, body } = {}) {
  return new Promise((resolve, reject) => {
    const asked = request(`${origin}${path}`, { method, headers }, (reply) => {
      let text = "";
      reply.setEncoding("utf8").on("data", (chunk) => {
        text += chunk;
      });
      reply.on("end", () => resolve({ text }));
    });
    asked.on("error", reject);
    asked.end(body);
  });
}

for (const url of urls) {
  const [origin, code] = url.split("/#k=");
  const body = JSON.stringify({ code });
  const session = await ask(origin, "/api/session", {
    method: "POST",
    headers: { origin, "content-type": "application/json", "content-length": body.length },
    body,
  });
  const authorization = `Bearer ${JSON.parse(session.text).bearer}`;
  for (let page = 0; page < pages / urls.length; page++) {
    const socket = new WebSocket(`${origin.replace("http", "ws")}/live`, { headers: { authorization, origin } });
    await new Promise((resolve, reject) => socket.once("open", resolve).once("error", reject));
    socket.on("message", (data) => {
      if (data.includes('"type":"frame"')) frames += 1;
    });
    socket.on("error", () => {});
    socket.send(JSON.stringify({ type: "hello", protocol }));
  }
}
process.send({ ready: true });
process.on("message", () => process.send({ frames }, () => process.exit(0)));
