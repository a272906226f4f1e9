import type { ToneName } from "./tone-for.ts";

/** Pitch, start and length of each note; told apart by rhythm and direction, not by pitch alone. */
const NOTES: Record<ToneName, [hertz: number, atMs: number, lengthMs: number][]> = {
  limiting: [
    [330, 0, 90],
    [330, 140, 90],
  ],
  collapse: [
    [700, 0, 110],
    [500, 110, 110],
    [330, 220, 260],
  ],
  settled: [
    [520, 0, 120],
    [780, 130, 220],
  ],
  cut: [
    [440, 0, 70],
    [440, 110, 70],
    [440, 220, 70],
    [220, 330, 380],
  ],
  question: [
    [620, 0, 90],
    [620, 180, 90],
  ],
  place: [[520, 0, 60]],
  taken: [
    [660, 0, 70],
    [990, 80, 160],
  ],
  "taken-bad": [
    [660, 0, 70],
    [330, 80, 320],
  ],
  nothing: [
    [196, 0, 260],
    [196, 320, 260],
  ],
  cooling: [
    [392, 0, 200],
    [294, 240, 400],
  ],
  alarm: [
    [880, 0, 240],
    [587, 260, 240],
    [880, 520, 240],
    [587, 780, 240],
  ],
};
const ALARM_EVERY_MS = 1_600;
/** The gain of the loudest tone: two at once do not clip. */
const LOUDEST = 0.42;

/** Tones by the browser's own synthesis. A browser lets a page sound only after it was touched once. */
export class Tones {
  /** 0 to 1; the alarm is never softer than half. */
  volume = 0.6;
  #context: AudioContext | null = null;
  #repeat: number | undefined;

  /** Called on a touch or key; afterwards tones can be heard. */
  wake(): void {
    this.#context ??= new AudioContext();
    void this.#context.resume();
  }

  play(name: ToneName): void {
    const context = this.#context;
    if (context === null) return;
    const loud = LOUDEST * (name === "alarm" ? Math.max(0.5, this.volume) : this.volume);
    for (const [hertz, atMs, lengthMs] of NOTES[name]) {
      const from = context.currentTime + atMs / 1000;
      const until = from + lengthMs / 1000;
      const source = new OscillatorNode(context, { type: "triangle", frequency: hertz });
      const level = new GainNode(context, { gain: 0 });
      // A few milliseconds of ramp at both ends, or each note begins with a click.
      level.gain.setValueAtTime(0, from);
      level.gain.linearRampToValueAtTime(loud, from + 0.008);
      level.gain.setValueAtTime(loud, until - 0.02);
      level.gain.linearRampToValueAtTime(0, until);
      source.connect(level).connect(context.destination);
      source.start(from);
      source.stop(until);
    }
  }

  /** The alarm goes on until it is called off. */
  alarm(on: boolean): void {
    clearInterval(this.#repeat);
    this.#repeat = undefined;
    if (!on) return;
    this.play("alarm");
    this.#repeat = setInterval(() => this.play("alarm"), ALARM_EVERY_MS);
  }
}
