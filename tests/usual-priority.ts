import os from "node:os";

/** A test of the daemon's own code puts its process ahead of others; the next test file in that process begins as it began. */
os.setPriority(os.getPriority(process.ppid));
