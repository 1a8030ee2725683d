/** The international foot in metres, exact (agreement of 1959). */
export const METRES_PER_FOOT = 0.3048;
