// How fine a picture may be while it moves, by how long such pictures take. Knows no browser: times come in, a level goes out.

// The finest first. `sharp`: pixels a point, of those that it rests with; `smooth`: edges; `plain`: light by faces, no grain.
// `cost`: about what a picture takes of the finest's time, as bench_solid.py measures it; what it takes in truth is seen after.
export const LEVELS = [
  { sharp: 1, smooth: true, plain: false, cost: 1 },
  { sharp: 1, smooth: true, plain: true, cost: 0.6 },
  { sharp: 1, smooth: false, plain: true, cost: 0.35 },
  { sharp: 0.5, smooth: false, plain: true, cost: 0.25 },
];
const SLOW_MS = 22, HEAVY_MS = 50, VERY_SLOW_MS = 100, SLOWEST_BEAT_MS = 34, SEEN = 4, QUICK = 60, MOST_QUICK = 1000;

export class Pace {
  level = 0;
  took = 0;            // how long a picture takes at this level, smoothed; 0 before any was timed
  #beat = 1000 / 60;   // what the screen itself takes for a frame
  #seen = 0;
  #quick = 0;
  #needs = QUICK;      // how many quick ones in a row earn a finer level
  #tries = false;

  // A frame of the screen without a picture to wait for. One that saves its battery beats slower: that isn't the picture's fault.
  beats(ms) {
    this.#beat = Math.min(SLOWEST_BEAT_MS, this.#beat * 0.8 + ms * 0.2);
  }

  get slow() {
    return Math.max(SLOW_MS, this.#beat * 1.3);
  }

  // How many may be on their way: one where a second would only come later, or nobody knows yet.
  get atOnce() {
    return this.#seen && this.took < HEAVY_MS ? 2 : 1;
  }

  // A new move: it may begin finer than the last one ended, never midway, where one would see it change.
  begins() {
    if (this.level === 0 || this.#quick < this.#needs) return;
    this.#tries = true;
    this.#goes(this.level - 1);
  }

  // A moving picture took so long, from its own beginning to that of the next.
  drew(ms) {
    this.#seen += 1;
    // the first may have made its programs, or its canvas anew
    if (this.#seen === 1 && (this.level || ms < VERY_SLOW_MS)) return;
    this.took = this.took ? this.took * 0.7 + ms * 0.3 : ms;
    this.#quick = ms < this.slow ? this.#quick + 1 : 0;
    if (this.#quick >= this.#needs) this.#tries = false;
    if (this.took <= this.slow || (this.#seen <= SEEN && ms < VERY_SLOW_MS)) return;
    const enough = LEVELS.findIndex(({ cost }, n) => n > this.level && this.took * cost <= this.slow * LEVELS[this.level].cost);
    if (this.#tries) this.#needs = Math.min(MOST_QUICK, this.#needs * 2);
    this.#tries = false;
    if (this.level < LEVELS.length - 1) this.#goes(enough < 0 ? LEVELS.length - 1 : enough);
  }

  #goes(level) {
    Object.assign(this, { level, took: 0 });
    this.#seen = 0;
    this.#quick = 0;
  }
}
