import { spawn } from "node:child_process";
import { root } from "./root.mjs";

/**
 * Runs one command of a set-up with its output kept back, and shows that it is alive: a line that counts seconds on a
 * terminal, a line every ten seconds elsewhere. Answers whether it ended well; when it did not, `output` says why.
 */
export function runStep(label, command, args, { env = {}, cwd = root, timeoutMs = 30 * 60_000 } = {}) {
  const from = Date.now();
  const seconds = () => Math.round((Date.now() - from) / 1000);
  const terminal = process.stderr.isTTY === true;
  const say = (text) =>
    process.stderr.write(terminal ? `\r\u001b[Kfirstamp: ${label} … ${text}` : `firstamp: ${label} … ${text}\n`);
  return new Promise((done) => {
    say(terminal ? "0 s" : "started");
    const child = spawn(command, args, { cwd, env: { ...process.env, ...env }, stdio: ["ignore", "pipe", "pipe"] });
    let output = "";
    const keep = (chunk) => {
      output = (output + chunk).slice(-20_000);
    };
    child.stdout.on("data", keep);
    child.stderr.on("data", keep);
    const tick = setInterval(() => say(`${seconds()} s`), terminal ? 1_000 : 10_000);
    const limit = setTimeout(() => {
      keep(`\nno end after ${Math.round(timeoutMs / 1000)} s: stopped`);
      child.kill();
    }, timeoutMs);
    let ended = false;
    const end = (ok) => {
      if (ended) return;
      ended = true;
      clearInterval(tick);
      clearTimeout(limit);
      say(`${ok ? "done" : "failed"} in ${seconds()} s${terminal ? "\n" : ""}`);
      done({ ok, output });
    };
    child.on("error", (error) => {
      keep(`${error.message}\n`);
      end(false);
    });
    child.on("close", (code) => end(code === 0));
  });
}
