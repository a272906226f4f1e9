import { takeLateSignals } from "./late-signals.ts";

/** The causes that end the daemon: a signal, or an unexpected error. */
export interface Ending {
  by: string;
  error: unknown;
}

export interface Endings {
  first: Promise<Ending>;
  again: Set<(ending: Ending) => void>;
  release(): void;
}

/**
 * `first` settles at the first thing that asks to end; `again` hears of it and of each that follows, so that a second signal cuts
 * once more. What comes while it starts or ends is never lost, and never ends it half-way.
 */
export function endings(): Endings {
  const again = new Set<(ending: Ending) => void>();
  let settle: (ending: Ending) => void = () => {};
  const first = new Promise<Ending>((resolve) => {
    settle = resolve;
  });
  const told = (ending: Ending): void => {
    settle(ending);
    for (const listener of again) listener(ending);
  };
  const handlers: [string, (cause: unknown) => void][] = [
    ...(["SIGINT", "SIGTERM", "SIGHUP"] as const).map((signal): [string, () => void] => [
      signal,
      () => told({ by: signal === "SIGINT" ? "Ctrl-C" : signal, error: null }),
    ]),
    ["uncaughtException", (error) => told({ by: "an unexpected error", error })],
    ["unhandledRejection", (error) => told({ by: "an unexpected error", error })],
  ];
  for (const [name, handler] of handlers) process.on(name, handler);
  return {
    first,
    again,
    release: () => {
      takeLateSignals();
      for (const [name, handler] of handlers) process.off(name, handler);
    },
  };
}
