import { css, html, LitElement, nothing } from "lit";
import { type Asked, foundIn, jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/job.ts";
import { baseStyle } from "../parts/base-style.ts";
import { withHelp } from "../parts/with-help.ts";

/** A note and a photograph for the job, from wherever the person is in it. */
export class NoteForm extends LitElement {
  static override properties = { job: { type: String }, said: { state: true }, problem: { state: true } };
  declare job: string;
  declare said: string;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      form {
        display: grid;
        gap: 0.5rem;
        margin-top: 0.3rem;
      }
      .said {
        white-space: pre-line;
        overflow-wrap: anywhere;
      }
      input[type="file"] {
        max-width: 100%;
        min-height: max(1.75rem, var(--touch, 0px));
      }
    `,
  ];

  constructor() {
    super();
    this.job = "";
    this.said = "";
    this.problem = "";
  }

  override render() {
    return html`<details class="card">
      <summary>${say("note")}</summary>
      <form @submit=${this.#file}>
        ${withHelp("note", html`<label><span class="label">${say("note.text")}</span><textarea name="note" rows="3" maxlength="10000"></textarea></label>`)}
        ${withHelp("photo", html`<label><span class="label">${say("note.file")}</span> <input type="file" name="file" /></label>`)}
        <button type="submit">${say("note.submit")}</button>
        ${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}
        <p class="small said" role="status">${this.said}</p>
      </form>
    </details>`;
  }

  readonly #file = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const data = new FormData(form);
    const text = String(data.get("note") ?? "").trim();
    const file = data.get("file");
    const hasFile = file instanceof File && file.size > 0;
    this.said = "";
    this.problem = text === "" && !hasFile ? say("note.nothing") : "";
    if (this.problem !== "") return;
    // A note beside a file is the file's caption as well, as far as a caption goes.
    const filed: Asked<unknown>[] = [];
    if (text !== "") filed.push(await jobRecord.file(this.job, { kind: "note", text }));
    const kept = hasFile ? await jobRecord.attach(this.job, file, { caption: text.slice(0, 200) }) : null;
    if (kept !== null) filed.push(kept);
    const failed = filed.find((each) => !each.ok);
    if (failed?.ok === false) {
      this.problem = failed.because;
      return;
    }
    form.reset();
    this.said = [say("filed"), ...(kept?.ok === true ? foundIn(kept.value) : [])].join("\n");
  };
}
customElements.define("note-form", NoteForm);
