import { expect, test } from "vitest";
import { SimulatedBench } from "./simulated-bench.ts";

test("a guardian that serves many runs is listened to by the present one only", async () => {
  const listeners = new Set<(because: string) => void>();
  let most = 0;
  const bench = await SimulatedBench.start({
    scenario: "dead-short",
    bench: {
      startGuardian: async () => ({
        arm: async () => {},
        disarm: () => {},
        isAlive: true,
        onLost: (listener) => {
          listeners.add(listener);
          most = Math.max(most, listeners.size);
          return () => void listeners.delete(listener);
        },
        close: () => {},
      }),
    },
  });
  try {
    for (let each = 0; each < 3; each++) {
      expect((await bench.run()).outcome).toMatchObject({ output: "off" });
      expect(listeners.size).toBe(0);
    }
    expect(most).toBe(1);
  } finally {
    await bench.close();
  }
});
