import { execFile } from "node:child_process";
import { writeFileSync } from "node:fs";
import path from "node:path";
import { promisify } from "node:util";

const run = promisify(execFile);

/** A certificate authority and a server's certificate from it, good for so many days; less than nothing is over already. */
export async function certificate(
  folder: string,
  days: number,
): Promise<{ ca: string; certificate: string; key: string }> {
  const at = (name: string) => path.join(folder, name);
  const openssl = (...args: string[]) => run("openssl", args, { cwd: folder });
  const make = ["req", "-newkey", "rsa:2048", "-nodes"];
  await openssl(...make, "-x509", "-keyout", "ca.key", "-out", "ca.pem", "-subj", "/CN=shop", "-days", "30");
  await openssl(...make, "-keyout", "server.key", "-out", "server.csr", "-subj", "/CN=127.0.0.1");
  writeFileSync(at("names"), "subjectAltName=IP:127.0.0.1");
  const sign = ["x509", "-req", "-in", "server.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial"];
  await openssl(...sign, "-extfile", "names", "-days", String(days), "-out", "server.pem");
  return { ca: at("ca.pem"), certificate: at("server.pem"), key: at("server.key") };
}
