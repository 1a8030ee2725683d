/** How far a clock is off another, in words: "1 h", "3 min 20 s"; never negative. */
export function durationText(seconds: number): string {
  const whole = Math.round(Math.abs(seconds));
  const parts = [
    { count: Math.floor(whole / 86_400), unit: 'd' },
    { count: Math.floor(whole / 3600) % 24, unit: 'h' },
    { count: Math.floor(whole / 60) % 60, unit: 'min' },
    { count: whole % 60, unit: 's' },
  ].filter(({ count }) => count > 0);
  return parts.length === 0 ? '0 s' : parts.map(({ count, unit }) => `${count} ${unit}`).join(' ');
}
