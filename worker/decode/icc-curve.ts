/** Device value 0..1 -> linear value 0..1. */
export type ToneCurve = (device: number) => number;

/** Entries a curve table may have; 16-bit devices need no more than 65,536. */
const MAX_CURVE_ENTRIES = 65_536;

/** Parameters of each parametricCurveType function, ICC.1:2022 clause 10.18, table 68 (from memory). */
const PARAMETER_COUNTS = [1, 3, 4, 5, 7] as const;

/**
 * Reads a curveType ('curv', ICC.1:2022 clause 10.6) or parametricCurveType ('para', clause 10.18) element
 * (clause numbers from memory). `element` is the tag's bytes. Null when it is neither, is cut short, has too
 * many entries, or is not a usable transfer curve (must stay finite, not fall, and end above one half).
 */
export function parseToneCurve(element: Uint8Array): ToneCurve | null {
  if (element.length < 12) return null;
  const view = new DataView(element.buffer, element.byteOffset, element.byteLength);
  const type = String.fromCharCode(...element.subarray(0, 4));
  const curve = type === 'curv' ? sampledCurve(view) : type === 'para' ? parametricCurve(view) : null;
  if (curve === null) return null;
  const bounded: ToneCurve = (device) => {
    const value = curve(device);
    return value > 0 ? Math.min(1, value) : 0;
  };
  return isTransferCurve(bounded) ? bounded : null;
}

function sampledCurve(view: DataView): ToneCurve | null {
  const count = view.getUint32(8);
  if (count === 0) return (device) => device;
  if (count > MAX_CURVE_ENTRIES || 12 + count * 2 > view.byteLength) return null;
  if (count === 1) {
    const gamma = view.getUint16(12) / 256;
    return gamma > 0 ? (device) => device ** gamma : null;
  }
  const samples = Float64Array.from({ length: count }, (_, index) => view.getUint16(12 + index * 2) / 65_535);
  return (device) => {
    const position = device * (count - 1);
    const index = Math.min(count - 2, Math.floor(position));
    const low = samples[index] ?? 0;
    return low + ((samples[index + 1] ?? low) - low) * (position - index);
  };
}

function parametricCurve(view: DataView): ToneCurve | null {
  const functionType = view.getUint16(8);
  const count = PARAMETER_COUNTS[functionType];
  if (count === undefined || 12 + count * 4 > view.byteLength) return null;
  const parameter = (index: number): number => (index < count ? view.getInt32(12 + index * 4) / 65_536 : 0);
  const [g, a, b, c] = [parameter(0), parameter(1), parameter(2), parameter(3)];
  const [d, e, f] = [parameter(4), parameter(5), parameter(6)];
  if (g <= 0) return null;
  switch (functionType) {
    case 0:
      return (x) => x ** g;
    case 1:
      return (x) => (a * x + b >= 0 ? (a * x + b) ** g : 0);
    case 2:
      return (x) => (a * x + b >= 0 ? (a * x + b) ** g + c : c);
    case 3:
      return (x) => (x >= d ? (a * x + b) ** g : c * x);
    default:
      return (x) => (x >= d ? (a * x + b) ** g + e : c * x + f);
  }
}

function isTransferCurve(curve: ToneCurve): boolean {
  const STEPS = 256;
  const SLACK = 1e-3;
  let highest = 0;
  for (let step = 0; step <= STEPS; step += 1) {
    const value = curve(step / STEPS);
    if (!Number.isFinite(value) || value < highest - SLACK) return false;
    highest = Math.max(highest, value);
  }
  return curve(1) > 0.5 && curve(0) < 0.5;
}
