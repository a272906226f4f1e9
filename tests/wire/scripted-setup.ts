import type { SetupView } from "../../shared/files/setup.ts";
import type { PageSetup } from "../../src/wire/setup-desk.ts";

/** A first set-up that stands where it is told to stand, and does nothing. */
export function scriptedSetup(view: Partial<SetupView> = {}): PageSetup {
  const never = (): Promise<never> => Promise.reject(new Error("this bench is told what to say"));
  return {
    view: async () => ({
      bench: "file",
      file: "/home/tech/bench.json",
      proposedFile: "/home/tech/bench.json",
      ports: [],
      drivers: [],
      rehearsals: [],
      coldOhms: {},
      ...view,
    }),
    look: never,
    write: never,
    check: never,
    use: never,
    rehearse: never,
    endRehearsal: never,
    probe: never,
  };
}
