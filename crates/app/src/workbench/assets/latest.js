// Work of which only the newest counts.

/** Done one at a time: asked for meanwhile, it is done once more, for the newest. */
export class Latest {
  constructor(work) {
    this.work = work;
    this.busy = false;
    /** It is to be done once more. */
    this.again = false;
  }

  /** Resolves to whether it was this call that did it. */
  async run() {
    if (this.busy) {
      this.again = true;
      return false;
    }
    this.busy = true;
    do {
      this.again = false;
      await this.work();
    } while (this.again);
    this.busy = false;
    return true;
  }
}
