import { css, html, LitElement } from "lit";
import { jobRecord } from "../../record/job-record.ts";

const WIDE_PX = 144;

/** The last photograph of a job, small; read once it comes into sight, and kept no larger than it is shown. */
export class JobThumb extends LitElement {
  static override properties = { job: { type: String } };
  declare job: string;
  #watching: IntersectionObserver | null = null;

  static override styles = css`
    :host {
      display: block;
      width: 4.5rem;
      height: 3.4rem;
      border-radius: 5px;
      background: var(--sunk);
      overflow: hidden;
    }
    canvas {
      width: 100%;
      height: 100%;
      object-fit: cover;
    }
  `;

  constructor() {
    super();
    this.job = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#watching = new IntersectionObserver((entries) => {
      if (!entries.some((each) => each.isIntersecting)) return;
      this.#watching?.disconnect();
      void this.#read();
    });
    this.#watching.observe(this);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#watching?.disconnect();
  }

  override render() {
    return html`<canvas width="0" height="0" aria-hidden="true"></canvas>`;
  }

  async #read(): Promise<void> {
    const blob = await jobRecord.picture(this.job);
    const picture =
      blob === null
        ? null
        : await createImageBitmap(blob, { resizeWidth: WIDE_PX, resizeQuality: "medium" }).catch(() => null);
    const canvas = this.renderRoot.querySelector("canvas");
    if (picture === null || canvas === null) return;
    canvas.width = picture.width;
    canvas.height = picture.height;
    canvas.getContext("2d")?.drawImage(picture, 0, 0);
    picture.close();
  }
}
customElements.define("job-thumb", JobThumb);
