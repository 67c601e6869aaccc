// Break-outs: a result as the sum of what causes it. A result is linear in its burdens, so the part of a group is
// the result with every other burden left out: the same evaluation once more for each group.
import {evaluate} from "deckle-evaluator";
import type {Calculation} from "./calculation";

export const groupings = ["stage", "process", "use", "factor", "gas", "scope"] as const;
export type Grouping = typeof groupings[number];

export interface Part { name: string; value: number }

type Tag = Calculation["data"]["tags"][number];

function groupOf([stage, process, use, factor, gas, scope]: Tag, by: Grouping): string {
    switch (by) {
        case "stage": return stage;
        case "process": return process;
        case "use": return `${process}: ${use}`;
        case "factor": return factor === "" ? use : factor;
        case "gas": return gas;
        case "scope": return scope;
    }
}

/** The terms of the burdens below a node, with their groups; a plan serves as long as the graph stands. */
interface Plan {
    nodes: Int32Array;
    cells: { cell: number; group: number }[];
    names: string[];
}

const plans = new WeakMap<Calculation, Map<string, Plan>>();

function planOf(calculation: Calculation, of: number, by: Grouping): Plan {
    const known = plans.get(calculation) ?? new Map<string, Plan>();
    plans.set(calculation, known);
    const key = `${of} ${by}`;
    const made = known.get(key) ?? makePlan(calculation, of, by);
    known.set(key, made);
    return made;
}

function makePlan(calculation: Calculation, of: number, by: Grouping): Plan {
    const {walked, burdens, data} = calculation;
    const below = calculation.ancestors(of);
    const carries = new Uint8Array(calculation.size);
    const nodes: number[] = [];
    const cells: Plan["cells"] = [];
    const numbers = new Map<string, number>();
    for (let n = 0; n <= of; ++n) {
        if (!below[n]) continue;
        const terms = burdens.get(n);
        if (!terms && !calculation.argumentsOf(n).some(argument => carries[argument])) continue;
        carries[n] = 1;
        nodes.push(n);
        terms?.forEach((tag, term) => {
            const tags = data.tags[tag]!;
            if (tags[0] === "") return; // uses something made: what that brings follows by itself
            const name = groupOf(tags, by);
            if (!numbers.has(name)) numbers.set(name, numbers.size);
            cells.push({cell: walked.start[n]! + 2 * term, group: numbers.get(name)!});
        });
    }
    return {nodes: Int32Array.from(nodes), cells, names: [...numbers.keys()]};
}

/** Largest amounts first, scopes by their number; parts that are nothing are left out. */
export function breakout(calculation: Calculation, of: number, by: Grouping): Part[] {
    const plan = planOf(calculation, of, by);
    const kept = calculation.walked.arguments;
    const left = kept.slice();
    const walked = {...calculation.walked, arguments: left};
    const value = calculation.value.slice();
    const solved = calculation.solved.slice();
    const parts = plan.names.map((name, group) => {
        for (const {cell, group: own} of plan.cells) left[cell] = own === group ? kept[cell]! : calculation.size;
        evaluate(walked, value, solved, plan.nodes);
        return {name, value: value[of]!};
    }).filter(part => part.value !== 0);
    return by === "scope" ? parts.sort((a, b) => a.name.localeCompare(b.name))
        : parts.sort((a, b) => Math.abs(b.value) - Math.abs(a.value));
}
