import { once } from "node:events";
import { connect, createServer, type Socket } from "node:net";

/** `whole`: passes everything on. `silent`: passes nothing on and says nothing. `reset`: resets every connection, also new ones. */
export type Network = "whole" | "silent" | "reset";

/** A way to a server of this computer that can be cut. */
export interface CutProxy {
  readonly port: number;
  /** Bytes that were under way in silence go on once it is whole again, as packets are sent again on a network. */
  be(network: Network): void;
  close(): void;
}

export async function cutProxy(to: number): Promise<CutProxy> {
  let network: Network = "whole";
  const sockets = new Set<Socket>();
  const apply = (socket: Socket): void => {
    if (network === "reset") socket.resetAndDestroy();
    else if (network === "silent") socket.pause();
    else socket.resume();
  };
  const server = createServer((near) => {
    const far = connect(to, "127.0.0.1");
    for (const [from, other] of [
      [near, far],
      [far, near],
    ] as const) {
      sockets.add(from);
      from.on("data", (bytes) => void other.write(bytes));
      from.on("error", () => undefined);
      from.on("close", () => {
        sockets.delete(from);
        other.destroySoon();
      });
      apply(from);
    }
  });
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  if (address === null || typeof address === "string") throw new Error("no port");
  return {
    port: address.port,
    be(now) {
      network = now;
      for (const socket of [...sockets]) apply(socket);
    },
    close() {
      server.close();
      for (const socket of [...sockets]) socket.destroy();
    },
  };
}
