import type { ReactiveController, ReactiveControllerHost } from "lit";
import { isCutKey } from "./cut-key.ts";
import { footKey } from "./foot-key.ts";
import { isTextField } from "./text-field.ts";

/** The keys of the page: those that cut, before every other listener, and the one that a foot switch is given. */
export class PageKeys implements ReactiveController {
  /** null: none was chosen. */
  foot: string | null = footKey.kept();
  /** True while the next key becomes the foot key. */
  choosing = false;
  /** False while another window has the keyboard: no key of this page is heard then. */
  heard = document.hasFocus();
  readonly #host: ReactiveControllerHost;
  readonly #of: { mayBeOn: () => boolean; onCut: () => void; onAny: () => void };

  constructor(host: ReactiveControllerHost, of: { mayBeOn: () => boolean; onCut: () => void; onAny: () => void }) {
    this.#host = host;
    this.#of = of;
    host.addController(this);
  }

  hostConnected(): void {
    // Nothing on the page can swallow the cut.
    window.addEventListener("keydown", (event) => this.#key(event), { capture: true });
    window.addEventListener("pointerdown", () => this.#of.onAny(), { capture: true });
    for (const name of ["focus", "blur"]) {
      window.addEventListener(name, () => {
        this.heard = document.hasFocus();
        this.#host.requestUpdate();
      });
    }
  }

  toggleChoosing(): void {
    this.choosing = !this.choosing;
    this.#host.requestUpdate();
  }

  setFoot(key: string | null): void {
    this.foot = key;
    footKey.keep(key);
    this.#host.requestUpdate();
  }

  #key(event: KeyboardEvent): void {
    this.#of.onAny();
    const mayBeOn = this.#of.mayBeOn();
    // While anything may be on, a key is for cutting and for nothing else.
    if (this.choosing && !mayBeOn && footKey.mayBe(event.key)) {
      event.preventDefault();
      event.stopPropagation();
      this.choosing = false;
      this.setFoot(event.key);
      return;
    }
    const cutting = { mayBeOn, footKey: this.foot, isWriting: isTextField(event.composedPath()[0]) };
    if (!isCutKey({ key: event.key, repeat: false }, cutting)) return;
    // Held down it repeats: cut once, and let no repeat press what has the focus.
    event.preventDefault();
    event.stopPropagation();
    if (isCutKey(event, cutting)) this.#of.onCut();
  }
}
