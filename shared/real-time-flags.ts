/**
 * V8 flags of a process that runs in real time. Its collector's helper threads would get the same priority, and so no turn
 * while the main thread, which sweeps step by step until they are done, keeps the processor: on one processor, or with the
 * others taken, it would go round without end, and be taken for one that hangs. A heap this small needs no help.
 */
export const REAL_TIME_FLAGS = ["--single-threaded-gc"];
