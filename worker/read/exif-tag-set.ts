import { EXIF_TAG, type ExifTagName } from './exif-tags.js';

/** Values of the tags of one file, as the parser gives them, with careful ways to look at them. */
export class ExifTagSet {
  constructor(private readonly values: ReadonlyMap<number, unknown>) {}

  get isEmpty(): boolean {
    return this.values.size === 0;
  }

  /** Numbers of the tags that were read, in no order. */
  get present(): number[] {
    return [...this.values.keys()];
  }

  has(name: ExifTagName): boolean {
    return this.values.has(EXIF_TAG[name]);
  }

  /** All finite numbers of a tag, in order. A rational with denominator 0 gives none. */
  numbers(name: ExifTagName): number[] {
    const value = this.values.get(EXIF_TAG[name]);
    const list: readonly unknown[] = Array.isArray(value)
      ? value
      : ArrayBuffer.isView(value) && !(value instanceof DataView)
        ? Array.from(value as unknown as ArrayLike<unknown>)
        : [value];
    return list.filter((item): item is number => typeof item === 'number' && Number.isFinite(item));
  }

  /** The first number of a tag, or null. */
  number(name: ExifTagName): number | null {
    return this.numbers(name)[0] ?? null;
  }

  /** The first number of a tag that is above 0, or null. */
  positive(name: ExifTagName): number | null {
    return this.numbers(name).find((value) => value > 0) ?? null;
  }

  /** Text up to the first NUL without blanks at the ends; null when nothing printable is left. */
  text(name: ExifTagName): string | null {
    const value = this.values.get(EXIF_TAG[name]);
    if (typeof value !== 'string') return null;
    // eslint-disable-next-line no-control-regex
    const clean = (value.split('\0')[0] ?? '').replace(/[\x00-\x1f\x7f]/g, ' ').trim();
    return clean === '' ? null : clean.slice(0, 200);
  }
}
