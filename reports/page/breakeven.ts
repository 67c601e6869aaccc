// Where two results are equal along an input: the calculation is evaluated at passing values, nothing is linearised.
import type {Calculation} from "./calculation";

const points = 48;
const halvings = 80;

export interface Crossing { at: number; stepped: boolean }

/** All crossings between `low` and `high` that a scan sees, each halved until neighbours in double precision or a jump
 *  remain. A crossing over a jump is marked. */
export function crossings(calculation: Calculation, input: number, one: number, other: number, low: number, high: number): Crossing[] {
    return calculation.probe(input, [one, other], at => {
        const difference = (value: number) => { const both = at(value); return both === null ? null : both[0]! - both[1]!; };
        const found: Crossing[] = [];
        let left = low, before = difference(low);
        for (let k = 1; k <= points; ++k) {
            const right = low + (high - low) * k / points;
            const here = difference(right);
            if (before === 0 && here !== 0) found.push({at: left, stepped: false});
            else if (before !== null && here !== null && before * here < 0) found.push(halved(difference, left, before, right, here));
            [left, before] = [right, here];
        }
        return found;
    });
}

function halved(difference: (value: number) => number | null, left: number, before: number, right: number, after: number): Crossing {
    const wide = Math.abs(after - before);
    for (let k = 0; k < halvings; ++k) {
        const middle = left + (right - left) / 2;
        if (middle <= left || middle >= right) break;
        const here = difference(middle);
        if (here === null) break;
        if (here === 0) return {at: middle, stepped: false};
        if (here * before < 0) [right, after] = [middle, here];
        else [left, before] = [middle, here];
    }
    return {at: left, stepped: Math.abs(after - before) > 1e-6 * wide};
}
