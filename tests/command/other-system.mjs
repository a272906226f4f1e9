/** Loaded before the program (NODE_OPTIONS): it takes the system for another one. What only that system has is then missing. */
Object.defineProperty(process, "platform", { value: process.env.FIRSTAMP_TEST_PLATFORM });
