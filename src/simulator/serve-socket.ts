import { createServer, type Socket } from "node:net";
import type { ServedPort, ServeWire } from "./wire.ts";

/** Serves an instrument on a raw TCP socket of this machine, on a port the system picks unless one is given. */
export async function serveSocket(serve: ServeWire, options: { port?: number } = {}): Promise<ServedPort> {
  const sockets = new Set<Socket>();
  const server = createServer({ noDelay: true }, (socket) => {
    sockets.add(socket);
    socket.on("error", () => socket.destroy());
    const user = serve({
      write: (bytes) => {
        if (!socket.destroyed) socket.write(bytes);
      },
      end: () => socket.end(),
      reset: () => socket.resetAndDestroy(),
    });
    if (user === "refuse") {
      sockets.delete(socket);
      socket.destroy();
      return;
    }
    socket.on("data", (bytes) => user.onBytes(bytes));
    socket.on("close", (failed) => {
      sockets.delete(socket);
      user.onGone(failed ? "failed" : "closed");
    });
  });
  await new Promise<void>((resolve, reject) => {
    server.once("error", reject);
    server.listen(options.port ?? 0, "127.0.0.1", resolve);
  });
  const at = server.address();
  const port = typeof at === "object" && at !== null ? at.port : 0;
  return {
    address: `TCPIP0::127.0.0.1::${port}::SOCKET`,
    close: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        for (const socket of sockets) socket.destroy();
      }),
  };
}
