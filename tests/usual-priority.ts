import os from "node:os";

/** A test of the daemon's own code puts its process ahead of others; the next test file in that process begins as the first one began. */
const usual = os.getPriority(process.ppid);
if (os.getPriority() < usual) os.setPriority(usual);
