import { StopledgerError } from '../errors.js';

/** @throws quantity-out-of-range unless the value is a finite number. */
export function requireFinite(name: string, value: number): number {
  if (!Number.isFinite(value))
    throw new StopledgerError('quantity-out-of-range', `Expected a finite number for ${name} but received ${value}`);
  return value;
}

/** @throws quantity-out-of-range unless the value is finite and above 0. */
export function requirePositive(name: string, value: number): number {
  if (!Number.isFinite(value) || value <= 0)
    throw new StopledgerError('quantity-out-of-range', `Expected a number above 0 for ${name} but received ${value}`);
  return value;
}

/** @throws quantity-out-of-range unless the value is finite and 0 or above. */
export function requireNotNegative(name: string, value: number): number {
  if (!Number.isFinite(value) || value < 0)
    throw new StopledgerError('quantity-out-of-range', `Expected 0 or more for ${name} but received ${value}`);
  return value;
}
