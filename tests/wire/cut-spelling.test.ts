import { request } from "node:http";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { refusalOf } from "../../src/wire/request-rules.ts";
import { TOKEN, WireRig } from "./wire-rig.ts";

let rig: WireRig;
beforeEach(async () => {
  rig = await WireRig.open();
});
afterEach(() => rig.close());

/** Sends a body as it is, with these headers; answers with the status. */
function post(path: string, headers: Record<string, string>, body: string): Promise<number> {
  return new Promise((resolve, reject) => {
    const sent = request(`${rig.origin}${path}`, { method: "POST", headers }, (reply) => {
      reply.resume().on("end", () => resolve(reply.statusCode ?? 0));
    });
    sent.once("error", reject);
    sent.end(body);
  });
}

const JSON_TYPE = { "content-type": "application/json" };
const FORM_TYPE = { "content-type": "application/x-www-form-urlencoded" };

describe("a cut by HTTP is never refused for its spelling", () => {
  it.each([
    ["an empty form, as curl -d '' sends", "/api/cut", FORM_TYPE, ""],
    ["a form", "/api/cut", FORM_TYPE, "id=x"],
    ["JSON without its type", "/api/cut", {}, '{"id":"a"}'],
    ["damaged JSON", "/api/cut", JSON_TYPE, '{"id":'],
    ["no JSON where JSON is said", "/api/cut", JSON_TYPE, ""],
    ["an id that is a number", "/api/cut", JSON_TYPE, '{"id":7}'],
    ["more than a body may be", "/api/cut", JSON_TYPE, `"${"x".repeat(20_000)}"`],
    ["a slash too many", "/api/cut/", JSON_TYPE, "{}"],
    ["a query", "/api/cut?now=1", JSON_TYPE, "{}"],
  ])("%s", async (_, path, headers, body) => {
    expect(await post(path, { authorization: `Bearer ${TOKEN}`, ...headers }, body)).toBe(200);
    expect(rig.facade.asked.map((each) => each.command.type)).toEqual(["cut"]);
  });

  it("is refused for its sender: no session, a foreign page, a link that is followed", async () => {
    expect(await post("/api/cut", { origin: rig.origin, ...JSON_TYPE }, "{}")).toBe(401);
    const session = await rig.session(rig.wire.newUrl("viewer"));
    expect(await post("/api/cut", { ...session, origin: "https://evil.example", ...JSON_TYPE }, "{}")).toBe(403);
    expect((await rig.ask("/api/cut", { headers: session })).status).toBe(404);
    expect(rig.facade.asked).toEqual([]);
  });
});

/** RFC 9110, 4.2.1: the port of http is 80 where none stands there; RFC 6454, 6.2: nor does it stand in the origin. */
describe("the port that browsers leave out", () => {
  const asked = (host: string, port: number): number | null =>
    refusalOf(
      { method: "POST", url: "/api/session", rawHeaders: ["Host", host, "Origin", `http://${host}`] },
      { port, needsOrigin: true, isPage: false },
    )?.status ?? null;

  it("is this server's own where it is 80, and another server's elsewhere", () => {
    for (const host of ["127.0.0.1", "localhost", "[::1]"]) {
      expect(asked(host, 80)).toBeNull();
      expect(asked(`${host}:80`, 80)).toBeNull();
      expect(asked(host, 8080)).toBe(403);
    }
  });
});
