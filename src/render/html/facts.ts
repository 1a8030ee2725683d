import { type Insertable, type SafeHtml, markup } from './safe.js';

/** One row of a two-column table: what, value, unit. */
export type Fact = readonly [what: string, value: Insertable, unit?: string];

const LONGEST_UNBROKEN = 26;
const isShort = (value: Insertable): boolean => String(value).length <= LONGEST_UNBROKEN;

/** A table of facts with row headers; rows whose value is null are left out. */
export function factsTable(caption: string, facts: readonly Fact[]): SafeHtml {
  const rows = facts.filter(([, value]) => value !== null);
  if (rows.length === 0) return markup``;
  return markup`<table class="facts">
    <caption>
      ${caption}
    </caption>
    <tbody>
      ${rows.map(
        ([what, value, unit]) =>
          markup`<tr>
            <th scope="row">${what}</th>
            <td${isShort(value) ? markup` class="short-value"` : null}>${value}${unit ? markup` <span class="unit">${unit}</span>` : null}</td>
          </tr>`,
      )}
    </tbody>
  </table>`;
}

/** Camera settings that break between the settings only. */
export const keepTogether = (settings: string): string =>
  settings
    .replaceAll(' · ', '\u00a0· ')
    .replace(/(\d) s\b/, '$1\u00a0s')
    .replace('ISO ', 'ISO\u00a0');
