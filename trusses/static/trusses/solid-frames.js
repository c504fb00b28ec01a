// When a picture is drawn and how fine: one for each frame of the screen at most, none while nothing changes, none while
// as many are on their way as help. What moved is drawn in full once it rests. `draws(level)` draws one and answers { done() }.
import { LEVELS, Pace } from "./solid-pace.js";

const RESTS_MS = 120, LOST_MS = 1000;

export class Frames {
  pace = new Pace();
  #draws;
  #next;
  #sent = [];          // pictures on their way, and since when
  #wanted = false;
  #moving = false;
  #full = true;
  #ticks = false;

  constructor(draws, next = (tick) => requestAnimationFrame(tick)) {
    this.#draws = draws;
    this.#next = next;
  }

  // Something changed; `moving` where more of the same is about to come.
  wants(moving = false) {
    if (moving && !this.#moving) this.pace.begins();
    this.#wanted = true;
    this.#moving = moving;
    if (!this.#ticks) this.#waits();
  }

  // No more of them: there is nothing to draw on.
  ends() {
    this.#draws = null;
  }

  #waits() {
    this.#ticks = true;
    this.#next((now) => this.#tick(now));
  }

  #tick(now) {
    this.#ticks = false;
    if (!this.#draws) return;
    const free = !this.#sent.length;
    this.#sent = this.#sent.filter(({ picture, at }) => !picture.done() && now - at < LOST_MS);
    if (free && this.last !== undefined) this.pace.beats(now - this.last);
    this.last = now;
    if (this.#wanted) {
      this.changed = now;
      if (this.#sent.length < this.pace.atOnce) this.#draw(now);
      else this.waited = true;
    } else {
      // where nobody waits for the next one its time tells of the hand
      this.idle = true;
      if (this.#moving && now - this.changed >= RESTS_MS) {
        this.#moving = false;
        if (!this.#full) this.#draw(now);
      }
    }
    if (this.#wanted || this.#moving || this.#sent.length) this.#waits();
    else Object.assign(this, { last: undefined, since: undefined });
  }

  #draw(now) {
    if (this.#moving && this.since !== undefined && (this.waited || !this.idle)) this.pace.drew(now - this.since);
    const level = this.#moving ? this.pace.level : 0;
    Object.assign(this, { since: this.#moving ? now : undefined, waited: false, idle: false });
    this.#wanted = false;
    this.#full = level === 0;
    this.#sent.push({ picture: this.#draws(LEVELS[level]), at: now });
  }
}
