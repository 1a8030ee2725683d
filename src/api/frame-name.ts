import { StopledgerError } from '../errors.js';

/**
 * C0 and C1 controls, DEL, line separators, and what makes a name read as another: marks that reorder text, and characters
 * that show nothing. The joiners U+200C and U+200D stay, since scripts and pictographs need them.
 */
// eslint-disable-next-line no-control-regex
const UNPRINTABLE = /[\u0000-\u001f\u007f-\u009f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff]/;
/** Half of a character. */
const LONE_SURROGATE = /\p{Surrogate}/u;
const LONGEST_BYTES = 255;

/**
 * A frame's name as given by a client, NFC-normalised (Unicode Standard Annex 15), so that the same name typed on
 * two machines is one name. Throws `bad-frame-name`. Names never become paths here, but reports and sidecars are
 * written beside files of these names, so what could leave a folder is refused at the door.
 */
export function checkedFrameName(given: string): string {
  const name = given.normalize('NFC');
  const fault = faultOf(name);
  if (fault !== null) {
    throw new StopledgerError('bad-frame-name', `frame name ${JSON.stringify(name.slice(0, 80))}: ${fault}`);
  }
  return name;
}

function faultOf(name: string): string | null {
  if (name === '') return 'it is empty';
  if (name === '.' || name === '..') return 'it names a folder';
  if (/[/\\]/.test(name)) return 'it holds a slash; one name without folders is expected';
  if (UNPRINTABLE.test(name)) return 'it holds a control or invisible character';
  if (LONE_SURROGATE.test(name)) return 'it is not well-formed Unicode';
  if (name !== name.trim()) return 'it begins or ends with white space';
  const bytes = Buffer.byteLength(name);
  if (bytes > LONGEST_BYTES) return `it has ${bytes} bytes in UTF-8; at most ${LONGEST_BYTES} are allowed`;
  return null;
}
