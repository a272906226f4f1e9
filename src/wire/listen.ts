import type { Server } from "node:http";
import { BenchError } from "../../shared/bench-error.ts";

/** Listens there and answers with the port. Throws "port-in-use", or "no-permission" (a port below 1024). */
export function listen(server: Server, port: number, host: string): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once("error", (error: NodeJS.ErrnoException) => {
      const code = error.code === "EACCES" ? "no-permission" : "port-in-use";
      const why = error.code === "EADDRINUSE" ? "another program has it" : error.message;
      reject(
        new BenchError(code, `Cannot listen on ${host} port ${port}: ${why}; nothing was touched`, { cause: error }),
      );
    });
    server.listen({ port, host, exclusive: true }, () => {
      const address = server.address();
      resolve(typeof address === "object" && address !== null ? address.port : port);
    });
  });
}
