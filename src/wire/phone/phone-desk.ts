import { networkInterfaces } from "node:os";
import type { Clock } from "../../../shared/clock.ts";
import type { WireAnswer } from "../../../shared/wire.ts";
import type { WirePhone } from "../../../shared/wire-phone.ts";
import type { PageBench } from "../bench-facade.ts";
import { PhoneCode } from "./phone-code.ts";

/** The address at which a phone finds this machine. */
export interface PhoneAddress {
  /** An address of this machine, or "0.0.0.0" or "::" for all that it has. */
  host: string;
  port: number;
}

/** Joins the pages to the phone: makes and withdraws codes, and tells the pages how it stands. */
export class PhoneDesk {
  readonly code: PhoneCode;
  readonly #facade: PageBench;
  readonly #at: () => PhoneAddress;
  readonly #deaf: () => void;

  constructor(options: {
    facade: PageBench;
    clock: Clock;
    at: () => PhoneAddress;
    /** Told whenever pages are to be told how it stands. */
    onChange: () => void;
  }) {
    this.#facade = options.facade;
    this.#at = options.at;
    this.code = new PhoneCode(options.clock, options.onChange);
    this.#deaf = options.facade.subscribe((message) => {
      if (message.type === "job-changed" && message.job === this.code.job) void this.#look(message.job);
      // Another record may be in use from here on, as in a rehearsal.
      if (message.type === "snapshot") this.code.end("withdrawn");
    });
  }

  look(): WirePhone {
    return { addresses: addressesOf(this.#at()), code: this.code.told, ended: this.code.ended };
  }

  /** Makes a code for a job that is open, in place of any that is in force. */
  async make(job: string): Promise<WireAnswer> {
    const state = (await this.#facade.jobsForPage?.state(job)) ?? null;
    if (state !== "open") {
      return {
        result: "refused",
        code: "no-open-job",
        because: `${state === null ? "There is no such job." : "This job was handed back."} No code was made.`,
      };
    }
    return { result: "phone-code", code: this.code.make(job) };
  }

  close(): void {
    this.#deaf();
    this.code.end("withdrawn");
  }

  async #look(job: string): Promise<void> {
    const state = await this.#facade.jobsForPage?.state(job).catch(() => "open");
    if (state !== "open" && this.code.job === job) this.code.end("job-closed");
  }
}

function addressesOf({ host, port }: PhoneAddress): string[] {
  const isAny = host === "0.0.0.0" || host === "::";
  const found = isAny
    ? Object.values(networkInterfaces())
        .flatMap((each) => each ?? [])
        // A link-local address needs a zone that only this machine knows.
        .filter(({ internal, family, address }) => !internal && !address.startsWith("fe80") && isOf(host, family))
        .map(({ address }) => address)
    : [host];
  return found.map((address) => `http://${address.includes(":") ? `[${address}]` : address}:${port}/`);
}

const isOf = (host: string, family: string): boolean => host === "::" || family === "IPv4";
