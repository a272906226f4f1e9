import { spawn } from "node:child_process";
import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { type AddressInfo, createServer } from "node:net";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { type EnergisedProgram, energise } from "./energised-program.ts";

const main = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));

/** `firstamp off --json`, as a service manager runs it. */
async function offProgram(data: string): Promise<{ code: number | null; document: unknown }> {
  const child = spawn(process.execPath, [main, "off", "--json", "--data", data], {
    stdio: ["ignore", "pipe", "ignore"],
  });
  let out = "";
  child.stdout.setEncoding("utf8").on("data", (text: string) => {
    out += text;
  });
  const code = await new Promise<number | null>((resolve) => child.once("close", resolve));
  return { code, document: JSON.parse(out) };
}

/** Stopped first, so that none of them outlives another by a turn. */
function killAll({ pids }: EnergisedProgram): void {
  for (const pid of Object.values(pids)) process.kill(pid, "SIGSTOP");
  for (const pid of Object.values(pids)) process.kill(pid, "SIGKILL");
}

/** Whether a process has the serial library in its memory, by the kernel's own list (proc(5), maps). */
const hasSerialLibrary = async (pid: number): Promise<boolean> =>
  /serialport.*\.node$/m.test(await readFile(`/proc/${pid}/maps`, "utf8"));

test.each(["tcp", "pty"] as const)(
  "the off program cuts what was left on when all were killed, over %s",
  async (transport) => {
    const program = await energise({ transport });
    try {
      // Both processes have loaded what a cut of this supply needs, and nothing more, before anything is on.
      for (const pid of [program.pids.bench, program.pids.guardian])
        expect(await hasSerialLibrary(pid)).toBe(transport === "pty");
      killAll(program);
      await program.ended;
      expect(program.simulation.truth().feeds["in12"]?.output).toBe("on");
      const { code, document } = await offProgram(program.data);
      expect(document).toMatchObject({ supplies: [{ name: "psu", output: "off" }] });
      expect(code).toBe(0);
      expect(program.simulation.truth().feeds["in12"]?.output).toBe("off");
      const left = await readdir(path.join(program.data, "run"));
      expect(left.filter((name) => name.startsWith("arm-"))).toEqual([]);
      expect(left.filter((name) => name.startsWith("incident-"))).toHaveLength(1);
      // A second time there is nothing to do.
      expect(await offProgram(program.data)).toEqual({ code: 0, document: { supplies: [] } });
    } finally {
      await program.close();
    }
  },
);

test("the off program ends a bench process that hangs, and cuts where its guardian hangs as well", async () => {
  const program = await energise({ transport: "tcp" });
  try {
    for (const pid of Object.values(program.pids)) process.kill(pid, "SIGSTOP");
    const { code } = await offProgram(program.data);
    expect(code).toBe(0);
    expect(program.simulation.truth().feeds["in12"]?.output).toBe("off");
  } finally {
    for (const pid of [program.pids.daemon, program.pids.guardian]) process.kill(pid, "SIGCONT");
    // Woken, it switches off once more, which it can prove only while the supply is there.
    await program.guardianEnded();
    await program.close();
  }
});

test("where it cannot be told what is on the off program says so, and keeps the word that something is", async () => {
  const data = await mkdtemp(path.join(tmpdir(), "firstamp-off-"));
  try {
    await mkdir(path.join(data, "run"));
    await writeFile(path.join(data, "run", "arm-1.json"), '{ "version": 1, "rec');
    const { code, document } = await offProgram(data);
    expect(code).toBe(4);
    expect(document).toMatchObject({ supplies: [{ output: "unknown" }] });
    expect(await readdir(path.join(data, "run"))).toEqual(["arm-1.json"]);
  } finally {
    await rm(data, { recursive: true, force: true });
  }
});

test.each(["1", null])(
  "the off program does not end its own parent, which has the number of a process of before (began at %s)",
  async (benchStart) => {
    const data = await mkdtemp(path.join(tmpdir(), "firstamp-off-"));
    const supply = createServer((socket) => {
      socket.on("data", (bytes) => {
        const text = bytes.toString();
        if (text.includes("*IDN?")) socket.write("x\n");
        if (text.includes("OUTP?")) socket.write("0\n");
        if (text.includes("MEAS:")) socket.write("0.000\n");
      });
      socket.on("error", () => {});
    });
    await new Promise<void>((resolve) => supply.listen(0, "127.0.0.1", resolve));
    const { port } = supply.address() as AddressInfo;
    try {
      await mkdir(path.join(data, "run"));
      const armed = {
        name: "psu",
        address: `TCPIP0::127.0.0.1::${port}::SOCKET`,
        serial: {},
        off: [{ afterMs: 0, text: "OUTP OFF\n" }],
        gapMs: 0,
        replyMs: 1000,
        state: ["OUTP?\n"],
        offAnswers: ["0"],
        current: ["MEAS:CURR?\n"],
        volts: ["MEAS:VOLT?\n"],
        stepVolts: 0.001,
        zeroAmps: 0.01,
        identityQuery: "*IDN?\n",
        identity: "x",
      };
      // The shell puts its own number in, as a computer that was started anew gives it to another process.
      const arm = JSON.stringify({ version: 1, record: "0", benchPid: 0, benchStart, supplies: [armed] });
      const script = `printf '%s' "$ARM" | sed 's/"benchPid":0/"benchPid":'$$'/' > "$FILE"; "$NODE" "$MAIN" off --data "$DATA"; echo "alive, off ended with $?"`;
      const env = {
        ARM: arm,
        FILE: path.join(data, "run", "arm-1.json"),
        NODE: process.execPath,
        MAIN: main,
        DATA: data,
      };
      const shell = spawn("sh", ["-c", script], {
        stdio: ["ignore", "pipe", "ignore"],
        env: { ...process.env, ...env },
      });
      let out = "";
      shell.stdout.setEncoding("utf8").on("data", (text: string) => {
        out += text;
      });
      await new Promise((resolve) => shell.once("close", resolve));
      expect(out).toContain("alive, off ended with 0");
    } finally {
      supply.close();
      await rm(data, { recursive: true, force: true });
    }
  },
);
