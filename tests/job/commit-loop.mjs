// Files notes numbered from a start and says each number once it is filed, until it is killed or the disk is full.
import { openJobStore } from "../../dist/src/job/store/open-job-store.js";

const [, , dir, job, start, padding = "0"] = process.argv;
const store = await openJobStore(dir, { ballastBytes: 0 });
for (let number = Number(start); ; number++) {
  const id = `00000000-0000-7000-8000-${String(number).padStart(12, "0")}`;
  const text = `${number}${"x".repeat(Number(padding))}`;
  try {
    await store.appendEvent(job, { kind: "note", text }, { id });
  } catch (error) {
    process.stdout.write(`stopped ${error.code}\n`);
    break;
  }
  process.stdout.write(`${number}\n`);
}
