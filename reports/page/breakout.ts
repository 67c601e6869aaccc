// Break-outs: a result as the sum of what causes it. A result is linear in its burdens, so the part of a group is
// the result with every other burden left out: the same evaluation once more for each group.
import {evaluate, type Walked} from "deckle-evaluator";
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
    /** All that carries burdens. */
    nodes: Int32Array;
    groups: Group[];
}

interface Group {
    name: string;
    /** Where its burdens stand among the arguments, and what each of them is. */
    cells: number[];
    tags: number[];
    /** What carries them; the rest is nothing when all others are left out. */
    nodes: Int32Array;
}

const plans = new WeakMap<Calculation, Map<string, Plan>>();

/** A second calculation beside the first, kept: copying half a million numbers takes longer than all groups together. */
interface Beside { walked: Walked; value: Float64Array; solved: ArrayLike<number>[] }

const besides = new WeakMap<Calculation, Beside>();

function besideOf(calculation: Calculation): Beside {
    const {walked, value} = calculation;
    const known = besides.get(calculation) ?? {walked: {...walked, arguments: walked.arguments.slice()}, value: value.slice(), solved: []};
    besides.set(calculation, known);
    known.value.set(value);
    return known;
}

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
    const cells = new Map<string, number[]>(), kinds = new Map<string, number[]>();
    const bearers = new Map<string, Set<number>>();
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
            if (!cells.has(name)) cells.set(name, []), kinds.set(name, []), bearers.set(name, new Set());
            cells.get(name)!.push(walked.start[n]! + 2 * term);
            kinds.get(name)!.push(tag);
            bearers.get(name)!.add(n);
        });
    }
    const groups = [...cells].map(([name, own]) => ({name, cells: own, tags: kinds.get(name)!, nodes: carrying(calculation, nodes, bearers.get(name)!)}));
    return {nodes: Int32Array.from(nodes), groups};
}

/** Of `nodes`, ascending, the bearers and what rests on them. */
function carrying(calculation: Calculation, nodes: readonly number[], bearers: ReadonlySet<number>): Int32Array {
    const carries = new Uint8Array(calculation.size);
    return Int32Array.from(nodes.filter(n => {
        if (bearers.has(n) || calculation.argumentsOf(n).some(argument => carries[argument])) carries[n] = 1;
        return carries[n];
    }));
}

export interface Term { tag: number; amount: number; factor: number }

/** What brings a part: amounts and factors, as nodes. */
export function termsOf(calculation: Calculation, of: number, by: Grouping, name: string): Term[] {
    const group = planOf(calculation, of, by).groups.find(one => one.name === name);
    return (group?.cells ?? []).map((cell, k) => ({tag: group!.tags[k]!, amount: calculation.walked.arguments[cell]!, factor: calculation.walked.arguments[cell + 1]!}));
}

/** Largest amounts first, scopes by their number; parts that are nothing are left out. */
export function breakout(calculation: Calculation, of: number, by: Grouping): Part[] {
    const plan = planOf(calculation, of, by);
    const kept = calculation.walked.arguments;
    const {walked, value, solved} = besideOf(calculation);
    const left = walked.arguments;
    for (const group of plan.groups) for (const cell of group.cells) left[cell] = calculation.size;
    for (const n of plan.nodes) value[n] = 0;
    const parts = plan.groups.map(group => {
        for (const cell of group.cells) left[cell] = kept[cell]!;
        evaluate(walked, value, solved, group.nodes);
        const part = {name: group.name, value: value[of]!};
        for (const cell of group.cells) left[cell] = calculation.size;
        for (const n of group.nodes) value[n] = 0;
        return part;
    }).filter(part => part.value !== 0);
    for (const group of plan.groups) for (const cell of group.cells) left[cell] = kept[cell]!;
    return by === "scope" ? parts.sort((a, b) => a.name.localeCompare(b.name))
        : parts.sort((a, b) => Math.abs(b.value) - Math.abs(a.value));
}
