import { spawn } from "node:child_process";

/** Milliseconds between two signs of life where the service manager does not state its limit. */
const USUAL_MS = 500;
/** Sends each line it is given; a process of its own, as this one cannot open the manager's kind of socket. */
const SENDER = 'while read -r line; do systemd-notify "$line" || exit 1; done';

/**
 * Tells a service manager (systemd's notify protocol, sd_notify(3)) that the daemon is ready, and from then on that it
 * lives, which is said from its own loop, so that one that hangs says nothing: a manager that hears nothing for its
 * WatchdogSec ends the service and runs its off program. Does nothing where no manager listens. Answers with the way to
 * say that the service ends.
 */
export function noticeService(environment: NodeJS.ProcessEnv = process.env): () => void {
  if (!environment["NOTIFY_SOCKET"]) return () => {};
  const sender = spawn("sh", ["-c", SENDER], { stdio: ["pipe", "ignore", "ignore"], env: environment });
  // A sender that cannot be had, or has ended, is the manager's to notice.
  sender.on("error", () => {});
  sender.stdin.on("error", () => {});
  const tell = (line: string): void => void sender.stdin.write(`${line}\n`);
  tell("READY=1");
  const patienceMs = Number(environment["WATCHDOG_USEC"]) / 1000;
  const everyMs = patienceMs > 0 ? patienceMs / 4 : USUAL_MS;
  const timer = setInterval(() => tell("WATCHDOG=1"), everyMs);
  return () => {
    clearInterval(timer);
    tell("STOPPING=1");
    sender.stdin.end();
  };
}
