// Places and whole numbers without conversion instructions, which cost many times an addition; AssemblyScript.

/** Added to a float below it, it leaves the nearest whole number in the low bits: conversion instructions cost many times more. */
export const WHOLE: f32 = 8388608;

/** Added to a whole number below it, as the low bits of a float: no conversion. */
export const WHOLE_BITS: i32 = 0x4b000000;

/** A place among pixels as a whole number of 2^-32. */
export function fixed(place: f64): i64 {
  return <i64>(place * 4294967296);
}

/** What a place is past a whole number, 0..1. */
export function fractionOf(place: i64): f32 {
  return reinterpret<f32>(0x3f800000 | ((<u32>place) >> 9)) - 1;
}
