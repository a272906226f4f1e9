// Files a note, and is killed once the shop's database has committed it, before this bench could note that.
import { openJobStore } from "../../dist/src/job/store/open-job-store.js";
import { exchangeOnce } from "../../dist/src/shop/exchange.js";
import { openShopDatabase } from "../../dist/src/shop/shop-database.js";

const [, , dir, job, url, text] = process.argv;
const store = await openJobStore(dir, { ballastBytes: 0 });
const database = openShopDatabase(url);
await store.appendEvent(job, { kind: "note", text });
const dying = {
  ...database,
  async takeIn(origin, logged) {
    await database.takeIn(origin, logged);
    process.kill(process.pid, "SIGKILL");
    await new Promise(() => {});
  },
};
await exchangeOnce({ store, database: dying });
