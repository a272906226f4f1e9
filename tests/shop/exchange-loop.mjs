// Files a note and exchanges with the shop's database, over and over, and says each step, until it is killed.
import { openJobStore } from "../../dist/src/job/store/open-job-store.js";
import { exchangeOnce } from "../../dist/src/shop/exchange.js";
import { openShopDatabase } from "../../dist/src/shop/shop-database.js";

const [, , dir, job, url] = process.argv;
const store = await openJobStore(dir, { ballastBytes: 0 });
const database = openShopDatabase(url);
for (let number = 0; ; number++) {
  await store.appendEvent(job, { kind: "note", text: `${process.pid} ${number}` });
  process.stdout.write(`filed ${number}\n`);
  await exchangeOnce({ store, database, batch: 2 });
  process.stdout.write(`exchanged ${number}\n`);
}
