/** A scan's head (T.81, B.2.3). */
export interface JpegScan {
  components: { id: number; dcTable: number; acTable: number }[];
  /** First and last coefficient in zig-zag order. */
  from: number;
  to: number;
  /** Bits already sent of them (0: none), and bits that stay to be sent. */
  highBit: number;
  lowBit: number;
}

const COEFFICIENTS = 64;
const NEVER = -1;

/** Which coefficients of which component the scans of a JPEG brought, and down to which bit. */
export class CoefficientsSent {
  /** Component id -> for each coefficient in zig-zag order the bits that stay to be sent; never sent: -1. */
  private readonly bitsLeft = new Map<number, Int8Array>();

  /** @param frameHead body of a SOF segment (ITU-T T.81, B.2.2) */
  constructor(frameHead: Buffer) {
    const components = frameHead[5] ?? 0;
    for (let at = 6; at < 6 + components * 3 && at < frameHead.length; at += 3)
      this.bitsLeft.set(frameHead[at] ?? 0, new Int8Array(COEFFICIENTS).fill(NEVER));
  }

  scan({ components, from, to, lowBit }: JpegScan, isProgressive: boolean): void {
    for (const { id } of components) {
      const left = this.bitsLeft.get(id);
      if (isProgressive) left?.fill(lowBit, from, Math.min(COEFFICIENTS, to + 1));
      else left?.fill(0);
    }
  }

  /** What the scans did not bring, as a sentence; null when all is there. */
  missing(): string | null {
    for (const [id, left] of this.bitsLeft) {
      const at = left.findIndex((bits) => bits !== 0);
      if (at >= 0) return `no scan brings coefficient ${at} of component ${id} whole`;
    }
    return null;
  }
}
