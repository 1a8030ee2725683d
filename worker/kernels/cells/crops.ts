// Pictures for the models; AssemblyScript.

import { fixed, fractionOf, WHOLE, WHOLE_BITS } from './numbers';

/** Codes through a table of 256 bytes, in place. */
export function replaceCodes(codes: usize, count: i32, table: usize): void {
  for (const end = codes + <usize>count; codes < end; codes++)
    store<u8>(codes, load<u8>(table + <usize>load<u8>(codes)));
}

/** Two pixels of a row added, and two of the next: red, green, blue first. */
function sumOfFour(p: usize, q: usize): v128 {
  const upper = i16x8.add(v128.load8x8_u(p), v128.load8x8_u(p, 3));
  return i16x8.add(upper, i16x8.add(v128.load8x8_u(q), v128.load8x8_u(q, 3)));
}

/**
 * Half the size of a picture: each code is what a table gives for the sum of two by two.
 *
 * @param codes height x width x 3 bytes; 8 more may be read
 * @param table 1,021 bytes: the code for each sum
 * @param out height / 2 x width / 2 x 3
 */
export function halveCodes(codes: usize, width: i32, height: i32, table: usize, out: usize): void {
  const stride = <usize>width * 3;
  for (let y = 0; y < height >> 1; y++) {
    let p = codes + <usize>(2 * y) * stride;
    for (let x = 0; x < width >> 1; x++, p += 6, out += 3) {
      const sums = sumOfFour(p, p + stride);
      store<u8>(out, load<u8>(table + <usize>i16x8.extract_lane_u(sums, 0)));
      store<u8>(out, load<u8>(table + <usize>i16x8.extract_lane_u(sums, 1)), 1);
      store<u8>(out, load<u8>(table + <usize>i16x8.extract_lane_u(sums, 2)), 2);
    }
  }
}

/** Red, green, blue of a pixel, each more by 2^23; the fourth is of its neighbour. */
function raisedColour(p: usize): v128 {
  const words = i32x4.extend_low_i16x8_u(i16x8.extend_low_i8x16_u(v128.load32_zero(p)));
  return v128.or(words, i32x4.splat(WHOLE_BITS));
}

/**
 * Reads a turned square of a picture into `size` x `size` x 3 floats, each the mean of one or two by two bilinear samples,
 * times `scale` plus `offset`. A sample outside the picture is black.
 *
 * @param codes height x width x 3 bytes; 1 more may be read
 * @param across step of the output to the right, and `down` downwards, in pixels of the picture
 * @param fine two by two samples a pixel
 * @param size a multiple of 4
 * @param out floats
 */
export function cropCodes(
  codes: usize,
  width: i32,
  height: i32,
  size: i32,
  across: f64,
  down: f64,
  centreX: f64,
  centreY: f64,
  fine: i32,
  scale: f32,
  offset: f32,
  out: usize,
): void {
  const stride = <usize>width * 3;
  const middle = 0.5 * <f64>(size - 1);
  const samples = fine ? 4 : 1;
  const weight = f32x4.splat(scale / <f32>samples);
  const offsets = f32x4.splat(offset);
  const lastX = (<i64>(width - 1)) << 32;
  const lastY = (<i64>(height - 1)) << 32;
  const stepX = fixed(across);
  const stepY = fixed(down);
  for (let y = 0; y < size; y++) {
    memory.fill(out, 0, <usize>size * 12);
    for (let k = 0; k < samples; k++) {
      const dx = (fine ? (k & 1 ? 0.25 : -0.25) : 0) - middle;
      const dy = <f64>y - middle + (fine ? (k & 2 ? 0.25 : -0.25) : 0);
      let px = fixed(centreX - down * dy - 0.5 + across * dx);
      let py = fixed(centreY + across * dy - 0.5 + down * dx);
      let to = out;
      for (let x = 0; x < size; x++, px += stepX, py += stepY, to += 12) {
        // No part of a pixel outside counts.
        if (<u64>px >= <u64>lastX || <u64>py >= <u64>lastY) continue;
        const p = codes + <usize>(py >> 32) * stride + <usize>(px >> 32) * 3;
        const right = f32x4.splat(fractionOf(px));
        const below = f32x4.splat(fractionOf(py));
        const upper = raisedColour(p);
        const lower = raisedColour(p + stride);
        const top = f32x4.mul(f32x4.sub(raisedColour(p + 3), upper), right);
        const bottom = f32x4.add(
          f32x4.sub(lower, upper),
          f32x4.sub(f32x4.mul(f32x4.sub(raisedColour(p + stride + 3), lower), right), top),
        );
        const colour = f32x4.add(f32x4.sub(upper, f32x4.splat(WHOLE)), f32x4.add(top, f32x4.mul(bottom, below)));
        store<f32>(to, load<f32>(to) + f32x4.extract_lane(colour, 0));
        store<f32>(to, load<f32>(to, 4) + f32x4.extract_lane(colour, 1), 4);
        store<f32>(to, load<f32>(to, 8) + f32x4.extract_lane(colour, 2), 8);
      }
    }
    for (const end = out + <usize>size * 12; out < end; out += 16) {
      v128.store(out, f32x4.add(f32x4.mul(v128.load(out), weight), offsets));
    }
  }
}
