/** Changes whenever the same bytes and options would give other numbers. */
export const MEASURING_VERSION = '8';
