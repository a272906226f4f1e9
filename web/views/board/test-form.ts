import { css, html, LitElement, nothing } from "lit";
import type { HostTest } from "../../../shared/record/host-test.ts";
import type { WireJobSheet } from "../../../shared/wire-job.ts";
import { numberIn } from "../../../shared/words/number-in.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/host.ts";
import { baseStyle } from "../parts/base-style.ts";
import { problem } from "../parts/problem.ts";

const NAMES = ["host-boots", "memory", "load", "other"] as const;
type TestName = (typeof NAMES)[number];
const RESULTS = ["pass", "fail", "done"] as const;

/** A test that was done at the host, as `job test` files it: starts, memory, load, or any other. */
export class TestForm extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    mayWrite: { type: Boolean },
    name: { state: true },
    problem: { state: true },
    said: { state: true },
  };
  declare sheet: WireJobSheet | null;
  declare mayWrite: boolean;
  /** Which test the fields are for. */
  declare name: TestName;
  declare problem: string;
  declare said: string;

  static override styles = [
    baseStyle,
    css`
      input.short[type="text"] {
        width: 6rem;
      }
      li {
        border-top: 1px solid var(--hair);
        padding: 0.2rem 0;
        overflow-wrap: anywhere;
      }
    `,
  ];

  constructor() {
    super();
    this.sheet = null;
    this.mayWrite = false;
    this.name = "host-boots";
    this.problem = "";
    this.said = "";
  }

  override render() {
    const filed = this.sheet?.events.filter((each) => each.kind === "test") ?? [];
    return html`<section class="card stack" aria-label=${say("tests")}>
      <h2>${say("tests")}</h2>
      <form class="stack" @submit=${this.#submit}>
        <label class="row"><span class="label">${say("test.name")}</span>
          <select name="test" @change=${this.#pick}>${NAMES.map((each) => html`<option value=${each} ?selected=${each === this.name}>${say(`test.${each}`)}</option>`)}</select></label>
        <div class="row">${this.#fields()}</div>
        <label><span class="label">${say("test.remark")}</span><input type="text" name="remark" maxlength="1000" autocomplete="off" /></label>
        <label><span class="label">${say("test.by")}</span><input type="text" name="by" maxlength="200" autocomplete="off" /></label>
        <div class="row">
          <button type="submit" ?disabled=${!this.mayWrite || this.sheet === null}>${say("test.submit")}</button>
          <span class="small" role="status">${this.said}</span>
        </div>
        ${problem(this.problem)}
      </form>
      ${filed.length === 0 ? nothing : html`<h3 class="label small">${say("test.so-far")}</h3><ul class="small">${filed.map((each) => html`<li lang="en">${each.text}</li>`)}</ul>`}
    </section>`;
  }

  #fields() {
    const result = html`<label class="row"><span class="label">${say("test.result")}</span>
      <select name="result">${RESULTS.map((each) => html`<option value=${each}>${say(`test.${each}`)}</option>`)}</select></label>`;
    switch (this.name) {
      case "host-boots":
        return html`${short("passed", say("test.passed"))} ${short("of", say("test.of"))}`;
      case "memory":
        return html`${result} ${short("addresses", say("test.addresses"))}`;
      case "load":
        return html`${result} ${short("minutes", say("test.minutes"))} ${short("celsius", say("test.hottest"))} ${short("where", say("test.where"))}`;
      case "other":
        return html`<label class="row"><span class="label">${say("test.other.name")}</span><input type="text" name="other" maxlength="80" autocomplete="off" /></label> ${result}`;
    }
  }

  readonly #pick = (event: Event): void => {
    this.name = (event.target as HTMLSelectElement).value as TestName;
    this.said = "";
    this.problem = "";
  };

  readonly #submit = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const { sheet } = this;
    const form = event.target as HTMLFormElement;
    const test = testIn(new FormData(form), this.name);
    this.said = "";
    this.problem = typeof test === "string" ? test : "";
    if (typeof test === "string" || sheet === null) return;
    const filed = await jobRecord.file(sheet.id, { kind: "test", test });
    this.problem = filed.ok ? "" : filed.because;
    if (!filed.ok) return;
    form.reset();
    this.name = "host-boots";
    this.said = say("filed");
  };
}
customElements.define("test-form", TestForm);

const short = (name: string, label: string) =>
  html`<label class="row"><span class="label">${label}</span><input type="text" name=${name} class="short" maxlength="1000" autocomplete="off" /></label>`;

/** The test that the fields say; a text is why they cannot be read. */
function testIn(data: FormData, name: TestName): HostTest | string {
  const wrong: string[] = [];
  const text = (field: string): string => String(data.get(field) ?? "").trim();
  const number = (field: string, least: number, most: number): number | undefined => {
    if (text(field) === "") return undefined;
    const value = numberIn(text(field));
    if (value !== null && value >= least && value <= most) return value;
    wrong.push(say("test.wrong", { text: text(field), least, most }));
    return undefined;
  };
  const whole = (field: string, least: number): number => {
    const value = number(field, least, 10_000) ?? Number.NaN;
    if (Number.isInteger(value)) return value;
    if (wrong.length === 0) wrong.push(say("test.wrong", { text: text(field), least, most: 10_000 }));
    return 0;
  };
  const result = RESULTS.find((each) => each === text("result")) ?? "done";
  const more = ((): Pick<HostTest, "name" | "result"> & Partial<HostTest> => {
    switch (name) {
      case "host-boots": {
        const [passed, of] = [whole("passed", 0), whole("of", 1)];
        if (passed > of) wrong.push(say("test.count"));
        return { name, result: passed === of ? "pass" : "fail", passed, of };
      }
      case "memory": {
        const addresses = text("addresses")
          .split(/[\s,;]+/)
          .filter((each) => each !== "");
        return { name, result, ...(addresses.length === 0 ? {} : { addresses }) };
      }
      case "load": {
        const [minutes, celsius] = [number("minutes", 0, 100_000), number("celsius", -50, 300)];
        if (celsius !== undefined && text("where") === "") wrong.push(say("test.no-where"));
        return {
          name,
          result,
          ...(minutes === undefined ? {} : { minutes }),
          ...(celsius === undefined ? {} : { hottest: { where: text("where"), celsius } }),
        };
      }
      case "other":
        if (text("other") === "") wrong.push(say("test.no-name"));
        return { name: text("other"), result };
    }
  })();
  const [first] = wrong;
  return first ?? { ...more, text: text("remark") || null, by: text("by") || null, doneAt: null };
}
