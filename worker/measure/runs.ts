/** Stretches of cells in rows, in the order of rows and columns: enough to know what of a plane hangs together. */
export class Runs {
  count = 0;
  /** By run: its row, its first column, and the column behind its last. */
  rows = new Int32Array(1024);
  starts = new Int32Array(1024);
  ends = new Int32Array(1024);

  push(row: number, start: number, end: number): void {
    if (this.count === this.rows.length) {
      this.rows = doubled(this.rows);
      this.starts = doubled(this.starts);
      this.ends = doubled(this.ends);
    }
    this.rows[this.count] = row;
    this.starts[this.count] = start;
    this.ends[this.count++] = end;
  }

  /**
   * @param pixels indices into rows of `widthPx`, ascending
   */
  static of(pixels: Int32Array, widthPx: number): Runs {
    const runs = new Runs();
    let row = 0;
    let end = widthPx;
    for (let k = 0; k < pixels.length;) {
      const first = pixels[k]!;
      if (first >= end) {
        row = Math.floor(first / widthPx);
        end = (row + 1) * widthPx;
      }
      let next = first + 1;
      for (k++; k < pixels.length && pixels[k] === next && next < end; k++) next++;
      runs.push(row, first + widthPx - end, next + widthPx - end);
    }
    return runs;
  }

  /**
   * What hangs together: of each run the first run of its part.
   *
   * @param reach 0: over sides (4-connected); 1: over corners, too (8-connected)
   */
  firstOfPart(reach: 0 | 1): Int32Array {
    const { rows, starts, ends, count } = this;
    const parents = new Int32Array(count);
    for (let run = 0; run < count; run++) parents[run] = run;
    let above = 0;
    for (let run = 0; run < count; run++) {
      while (rows[above]! < rows[run]! - 1) above++;
      // Those that end before this one begins end before the ones behind it, too.
      while (rows[above] === rows[run]! - 1 && ends[above]! + reach <= starts[run]!) above++;
      for (
        let near = above;
        rows[near] === rows[run]! - 1 && near < run && starts[near]! < ends[run]! + reach;
        near++
      ) {
        const a = rootOf(parents, near);
        const b = rootOf(parents, run);
        // The first run stands for its part.
        if (a < b) parents[b] = a;
        else parents[a] = b;
      }
    }
    for (let run = 0; run < count; run++) parents[run] = rootOf(parents, run);
    return parents;
  }
}

function rootOf(parents: Int32Array, run: number): number {
  while (parents[run] !== run) run = parents[run] = parents[parents[run]!]!;
  return run;
}

function doubled(values: Int32Array): Int32Array<ArrayBuffer> {
  const larger = new Int32Array(2 * values.length);
  larger.set(values);
  return larger;
}
