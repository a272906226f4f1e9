import type { ReactiveControllerHost } from "lit";
import type { ToneName } from "./tone-for.ts";
import { Tones } from "./tones.ts";

const KEPT = "firstamp-volume";

/** The sounds of the page: tones on or off, how loud, and the alarm until a person has heard it. */
export class PageSound {
  on = true;
  /** True once a person has heard the alarm; what it says stays on the screen. */
  silenced = false;
  /** 0 to 1, kept in this browser. */
  volume = volumeIn(localStorage.getItem(KEPT));
  #alarmed = false;
  readonly #tones = new Tones();
  readonly #host: ReactiveControllerHost;

  constructor(host: ReactiveControllerHost) {
    this.#host = host;
    this.#tones.volume = this.volume;
  }

  wake(): void {
    this.#tones.wake();
  }

  play(tone: ToneName): void {
    if (this.on) this.#tones.play(tone);
  }

  setOn(on: boolean): void {
    this.on = on;
    this.#ring();
    this.play("settled");
  }

  setVolume(volume: number): void {
    this.volume = volume;
    localStorage.setItem(KEPT, String(volume));
    this.#tones.volume = volume;
    this.#host.requestUpdate();
    this.play("place");
  }

  /** An alarm is there, or is not; another one than the one that was heard sounds again. */
  alarm(is: boolean): void {
    this.#alarmed = is;
    this.silenced = false;
    this.#ring();
  }

  silence(): void {
    this.silenced = true;
    this.#ring();
  }

  #ring(): void {
    this.#tones.alarm(this.on && !this.silenced && this.#alarmed);
    this.#host.requestUpdate();
  }
}

function volumeIn(kept: string | null): number {
  const volume = kept === null ? 0.6 : Number(kept);
  return volume >= 0 && volume <= 1 ? volume : 0.6;
}
