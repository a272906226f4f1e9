// Owns the folder it is given, says so, and waits for its end.
import { openJobStore } from "../../dist/src/job/store/open-job-store.js";

const store = await openJobStore(process.argv[2], { ballastBytes: 0 });
await store.newJob({ title: "owner's" });
process.stdout.write("owning\n");
process.stdin.resume();
