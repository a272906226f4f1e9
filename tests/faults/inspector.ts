import { readdir, readFile, readlink } from "node:fs/promises";
import { WebSocket } from "ws";

/** The port a process listens on at 127.0.0.1, by the kernel's own tables (proc(5): state 0A listens). */
async function listeningPort(pid: number): Promise<number | undefined> {
  const sockets = new Set<string>();
  for (const fd of await readdir(`/proc/${pid}/fd`)) {
    const target = await readlink(`/proc/${pid}/fd/${fd}`).catch(() => "");
    const inode = /^socket:\[(\d+)\]$/.exec(target)?.[1];
    if (inode !== undefined) sockets.add(inode);
  }
  for (const line of (await readFile(`/proc/${pid}/net/tcp`, "utf8")).split("\n").slice(1)) {
    const [, local, , state, , , , , , inode] = line.trim().split(/\s+/);
    if (state === "0A" && inode !== undefined && sockets.has(inode) && local?.startsWith("0100007F:") === true)
      return Number.parseInt(local.slice(9), 16);
  }
  return undefined;
}

export interface Inside {
  run: (script: string) => void;
  /** What the process really keeps: what is no longer used is collected first. */
  keptBytes: () => Promise<number>;
  /** Leaves it to itself. */
  leave: () => void;
}

/**
 * Readies JavaScript to be run inside another Node process, by its own debugger, which SIGUSR1 starts; answers with what
 * runs it. The process must have been started with `--inspect-port=0`. Nothing of the program under test takes part.
 */
export async function insideOf(pid: number): Promise<Inside> {
  process.kill(pid, "SIGUSR1");
  const untilMs = performance.now() + 10_000;
  for (;;) {
    const port = await listeningPort(pid);
    const target = port === undefined ? undefined : await debuggerAt(port);
    if (target !== undefined) {
      const socket = new WebSocket(target);
      await new Promise<void>((resolve, reject) => {
        socket.once("open", () => resolve());
        socket.once("error", reject);
      });
      // The debugger goes with the process that is being broken.
      socket.on("error", () => {});
      return over(socket);
    }
    if (performance.now() > untilMs) throw new Error(`process ${pid} did not open its debugger`);
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}

function over(socket: WebSocket): Inside {
  let asked = 0;
  const ask = (method: string, params: Record<string, unknown> = {}): Promise<unknown> => {
    asked += 1;
    const id = asked;
    return new Promise((resolve, reject) => {
      const ended = (): void => reject(new Error("the process ended"));
      if (socket.readyState !== WebSocket.OPEN) return ended();
      socket.once("close", ended);
      socket.on("message", (data: Buffer) => {
        const answer = JSON.parse(data.toString()) as { id?: number; result?: unknown };
        if (answer.id === id) resolve(answer.result);
      });
      socket.send(JSON.stringify({ id, method, params }));
    });
  };
  return {
    run: (expression) => void ask("Runtime.evaluate", { expression }).catch(() => {}),
    keptBytes: async () => {
      await ask("HeapProfiler.collectGarbage");
      const expression = "(({ heapUsed, external }) => heapUsed + external)(process.memoryUsage())";
      const answer = (await ask("Runtime.evaluate", { expression, returnByValue: true })) as {
        result: { value: number };
      };
      return answer.result.value;
    },
    leave: () => socket.close(),
  };
}

async function debuggerAt(port: number): Promise<string | undefined> {
  const answer = await fetch(`http://127.0.0.1:${port}/json/list`).catch(() => undefined);
  if (answer?.ok !== true) return undefined;
  const [first] = (await answer.json()) as { webSocketDebuggerUrl?: string }[];
  return first?.webSocketDebuggerUrl;
}
