/** Markup that is known to be safe; everything else that enters a template is escaped. */
export class SafeHtml {
  constructor(readonly text: string) {}
  toString(): string {
    return this.text;
  }
}

export type Insertable = SafeHtml | string | number | null | undefined | false | readonly Insertable[];

const ESCAPES: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Escapes for text and for quoted attributes; control characters and direction overrides become U+FFFD. */
export function escapeHtml(text: string): string {
  return (
    text
      // eslint-disable-next-line no-control-regex
      .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, '\ufffd')
      .replace(/[&<>"']/g, (c) => ESCAPES[c] ?? c)
  );
}

function insert(value: Insertable): string {
  if (value === null || value === undefined || value === false) return '';
  if (value instanceof SafeHtml) return value.text;
  if (typeof value === 'string') return escapeHtml(value);
  if (typeof value === 'number') return String(value);
  return value.map(insert).join('');
}

/** Template tag (not called `html`, so that formatters leave the white space in it alone): literal parts are markup, values are escaped unless they are `SafeHtml` or arrays of such. */
export function markup(literals: TemplateStringsArray, ...values: Insertable[]): SafeHtml {
  return new SafeHtml(literals.reduce((out, literal, i) => out + insert(values[i - 1]) + literal));
}
