import { readFileSync } from "node:fs";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { ShopCauses } from "../../shared/files/fault-data.ts";
import { type Diagnosis, DiagnosisReadings } from "../../shared/record/diagnosis.ts";
import { diagnose } from "../../src/verdict/diagnosis/diagnose.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";

export const KESTREL = BoardFile.parse(
  JSON.parse(readFileSync(new URL("../../scenarios/boards/kestrel-k2.json", import.meta.url), "utf8")),
);

/** Cold ohms of a Kestrel K2 with nothing wrong; the middle of the board file's spans. */
export const HEALTHY_OHMS = {
  aux: 12000,
  slot12: 20000,
  slot3v3: 1500,
  "12v": 12000,
  "12v-slot": 20000,
  "3v3": 1500,
  "5v": 3000,
  "1v8": 300,
  pll: 20,
  soc: 4,
  core: 0.5,
  mem: 40,
  "mem-vpp": 300,
  "aux:core": 800,
  "aux:mem": 900,
  "slot12:mem": 900,
  "5v:core": 800,
};

export const HEALTHY_VOLTS = {
  "12v": 12,
  "12v-slot": 12,
  "3v3": 3.3,
  "5v": 5,
  "1v8": 1.8,
  pll: 0.95,
  soc: 0.9,
  core: 0.85,
  mem: 1.35,
  "mem-vpp": 1.8,
};

export const HEALTHY_SIGNALS = { clock: 0.9, "core-enable": 3.3, "power-good": 3.3, reset: 1.8 };

/** The diagnosis of readings as a person writes them. */
export function diagnosed(readings: unknown, options: { board?: BoardFile; shop?: ShopCauses } = {}): Diagnosis {
  return diagnose({
    board: options.board ?? KESTREL,
    readings: DiagnosisReadings.parse(readings),
    data: shippedFaultData(),
    shop: options.shop ?? null,
  });
}

/** "1v8 dead" of the likeliest fault. */
export const topOf = ({ faults }: Diagnosis): string => `${faults[0]?.element} ${faults[0]?.kind}`;
