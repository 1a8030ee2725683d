import type { PlanArithmetic } from '../contracts/plan-arithmetic.js';
import { printGuide, printMeter, printRatio, printTrade } from './plan-print-exposure.js';
import { printFallOff, printMove } from './plan-print-light.js';
import type { PlanPrintOptions } from './plan-words.js';

/** An answer of set-up arithmetic as text: short sentences, a table, cautions. */
export function printPlan(answer: PlanArithmetic, options: PlanPrintOptions): string {
  switch (answer.kind) {
    case 'meter':
      return printMeter(answer, options);
    case 'trade':
      return printTrade(answer, options);
    case 'guide':
      return printGuide(answer, options);
    case 'ratio':
      return printRatio(answer, options);
    case 'falloff':
      return printFallOff(answer, options);
    case 'move':
      return printMove(answer, options);
  }
}
