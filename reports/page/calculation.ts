// The calculation graph in the browser: its values, and what is read off it by walking. All arithmetic is that of
// the evaluator which the build writes from the engine's table of operations.
import {evaluate, type System, type Walked} from "deckle-evaluator";
import type {GraphData, InputData, SolveData} from "./data";

/** One flag a node, and the rests among them that must not turn negative. */
interface Needed { flags: Uint8Array; rests: number[] }

export class Calculation {
    readonly data: GraphData;
    readonly size: number;
    readonly walked: Walked;
    /** One more cell than nodes; the last is a zero for terms left out of a break-out. */
    readonly value: Float64Array;
    readonly solved: ArrayLike<number>[] = [];
    readonly inputs = new Map<number, InputData>();
    readonly solves = new Map<number, SolveData>();
    readonly converts = new Map<number, GraphData["converts"][number]>();
    readonly burdens: Map<number, number[]>;
    readonly notCovered = new Map<number, { subject: string; indicator: string }>();
    readonly changed = new Map<number, number>();
    /** Another number after every change of `changed`. */
    changes = 0;
    private readonly userStart: Int32Array;
    private readonly users: Int32Array;
    private readonly restingOn = new Map<number, Int32Array>();
    private readonly below = new Map<number, Uint8Array>();
    private readonly needs = new Map<string, Needed>();
    private readonly readBelow = new WeakMap<readonly number[], Int32Array>();
    private failing: { node: number; what: string }[] = [];
    /** What is watched, if not everything: on a move only this is evaluated at once. */
    private watched: Uint8Array | null = null;
    private watchedRestingOn = new Map<number, Int32Array>();
    /** Inputs that have moved while what rests on them and is not watched stayed behind. */
    private readonly behind = new Set<number>();

    constructor(data: GraphData) {
        this.data = data;
        this.size = data.operation.length;
        this.walked = {
            operation: Uint8Array.from(data.operation),
            start: Int32Array.from(data.start),
            count: Int32Array.from(data.count),
            arguments: Int32Array.from(data.arguments),
            p: new Float64Array(this.size),
            q: new Float64Array(this.size),
            index: new Int32Array(this.size),
            systems: [],
        };
        this.value = new Float64Array(this.size + 1);
        this.burdens = new Map(data.burdens);
        this.fill();
        [this.userStart, this.users] = usersOf(this.walked);
        this.evaluateAll();
    }

    private fill(): void {
        const {data, walked, value} = this;
        for (const [n, number] of data.constants) value[n] = number;
        for (const input of data.inputs) {
            value[input.n] = input.value;
            this.inputs.set(input.n, input);
        }
        for (const convert of data.converts) {
            [, walked.p[convert[0]], walked.q[convert[0]]] = convert;
            this.converts.set(convert[0], convert);
        }
        for (const solve of data.solves) {
            walked.systems[solve.n] = system(solve);
            this.solves.set(solve.n, solve);
            for (let k = 0; k < solve.size * solve.right_sides; ++k) walked.index[solve.n + 1 + k] = k;
        }
        for (const [n, subject, indicator] of data.not_covered) this.notCovered.set(n, {subject, indicator});
    }

    private evaluateAll(): void {
        evaluate(this.walked, this.value, this.solved, Int32Array.from({length: this.size}, (_, n) => n));
        this.judge();
    }

    argumentsOf(n: number): Int32Array {
        const start = this.walked.start[n]!;
        return this.walked.arguments.subarray(start, start + this.walked.count[n]!);
    }

    unitOf(n: number): string { return this.data.units[this.data.unit[n]!]!; }

    /** The nodes that rest on an input, ascending. */
    dependents(input: number): Int32Array {
        const nodes = this.restingOn.get(input) ?? this.dependentsWithin(input, null);
        this.restingOn.set(input, nodes);
        return nodes;
    }

    /** Those of them that have a flag. What a flagged node rests on must have one too. */
    private dependentsWithin(input: number, flags: Uint8Array | null): Int32Array {
        const seen = new Uint8Array(this.size);
        const found = [input];
        const reach = (n: number) => {
            if (seen[n] || (flags && !flags[n])) return;
            seen[n] = 1;
            found.push(n);
        };
        for (let k = 0; k < found.length; ++k) {
            const n = found[k]!;
            if (this.solves.has(n)) continue; // its unknowns were reached with it
            for (let i = this.userStart[n]!; i < this.userStart[n + 1]!; ++i) {
                const user = this.users[i]!;
                reach(user);
                if (this.solves.has(user)) this.partsMovedBy(user, n).forEach(reach);
            }
        }
        return Int32Array.from(found.slice(1)).sort();
    }

    /** The unknowns of a loop that move with an argument: all with a coefficient, its own side with a right-hand side. */
    private partsMovedBy(solve: number, argument: number): number[] {
        const {size, right_sides: sides, entries} = this.solves.get(solve)!;
        const columns = new Set<number>();
        this.argumentsOf(solve).forEach((node, k) => {
            if (node !== argument) return;
            if (k >= entries.length) columns.add((k - entries.length) % sides);
            else for (let side = 0; side < sides; ++side) columns.add(side);
        });
        return [...columns].flatMap(side => Array.from({length: size}, (_, row) => solve + 1 + row * sides + side));
    }

    /** What one unknown of a loop rests on. */
    private argumentsOfPart(part: number): number[] {
        const solve = this.argumentsOf(part)[0]!;
        const {right_sides: sides, entries} = this.solves.get(solve)!;
        const side = this.walked.index[part]! % sides;
        return [...this.argumentsOf(solve)].filter((_, k) => k < entries.length || (k - entries.length) % sides === side);
    }

    /** One flag a node: what `of` rests on, itself included. */
    ancestors(of: number): Uint8Array {
        const known = this.below.get(of);
        if (known) return known;
        const flags = this.reached([of]);
        if (this.below.size > 200) this.below.clear();
        this.below.set(of, flags);
        return flags;
    }

    private reached(from: readonly number[]): Uint8Array {
        const flags = new Uint8Array(this.size);
        const found = [...from];
        for (const n of from) flags[n] = 1;
        for (let k = 0; k < found.length; ++k) {
            const node = found[k]!;
            const solve = this.argumentsOf(node)[0];
            const isPart = solve !== undefined && this.solves.has(solve);
            if (isPart) flags[solve] = 1;
            for (const n of isPart ? this.argumentsOfPart(node) : this.argumentsOf(node)) {
                if (flags[n]) continue;
                flags[n] = 1;
                found.push(n);
            }
        }
        return flags;
    }

    /** Values of nodes as the inputs are now, whatever is watched. */
    valuesOf(nodes: readonly number[]): number[] {
        const known = this.readBelow.get(nodes);
        const flags = known ? undefined : this.reached(nodes);
        const below = known ?? Int32Array.from({length: this.size}, (_, n) => n).filter(n => flags![n] === 1);
        if (!known) this.readBelow.set(nodes, below);
        evaluate(this.walked, this.value, this.solved, below);
        return nodes.map(n => this.value[n]!);
    }

    inputsBelow(of: number): InputData[] {
        const flags = this.ancestors(of);
        return this.data.inputs.filter(input => flags[input.n]);
    }

    /** Moves an input; all that rests on it follows. */
    set(input: number, value: number): void {
        this.place(input, value);
        this.judge();
    }

    private place(input: number, value: number): void {
        this.value[input] = value;
        ++this.changes;
        if (value === this.inputs.get(input)!.value) this.changed.delete(input);
        else this.changed.set(input, value);
        if (this.watched) this.behind.add(input);
        evaluate(this.walked, this.value, this.solved, this.watchedDependents(input));
    }

    private watchedDependents(input: number): Int32Array {
        const {watched} = this;
        if (!watched) return this.dependents(input);
        const known = this.watchedRestingOn.get(input) ?? this.dependentsWithin(input, watched);
        this.watchedRestingOn.set(input, known);
        return known;
    }

    /** From now on a move evaluates at once only what these nodes rest on; null: everything. */
    watch(nodes: readonly number[] | null): void {
        this.catchUp();
        this.watchedRestingOn.clear();
        this.watched = nodes && this.neededFor(nodes).flags;
    }

    /** What must be evaluated to answer for nodes: all they rest on, and the rests that must not turn negative for it. */
    private neededFor(nodes: readonly number[]): Needed {
        const key = nodes.join();
        const known = this.needs.get(key);
        if (known) return known;
        const below = nodes.map(n => this.ancestors(n));
        const rests = this.data.not_negative.map(([n]) => n).filter(n => below.some(flags => this.concerns(n, flags)));
        const needed = {flags: this.reached([...nodes, ...rests]), rests};
        if (this.needs.size > 20) this.needs.clear();
        this.needs.set(key, needed);
        return needed;
    }

    /** Evaluates what stayed behind. */
    private catchUp(): void {
        if (this.behind.size === 0) return;
        const stale = new Uint8Array(this.size);
        for (const input of this.behind) for (const n of this.dependents(input)) stale[n] = 1;
        this.behind.clear();
        evaluate(this.walked, this.value, this.solved, Int32Array.from({length: this.size}, (_, n) => n).filter(n => stale[n] === 1));
        this.judge();
    }

    reset(): void {
        for (const input of [...this.changed.keys()]) this.place(input, this.inputs.get(input)!.value);
        this.judge();
    }

    /** What nodes would be at passing values of an input; afterwards all is as before. */
    probe<T>(input: number, wanted: readonly number[], read: (at: (value: number) => number[] | null) => T): T {
        const {flags, rests} = this.neededFor(wanted);
        const nodes = this.dependentsWithin(input, flags);
        const before = this.value[input]!;
        const at = (value: number) => {
            this.value[input] = value;
            evaluate(this.walked, this.value, this.solved, nodes);
            const values = wanted.map(n => this.value[n]!);
            const answered = values.every(Number.isFinite) && rests.every(n => this.value[n]! >= 0);
            return answered ? values : null;
        };
        const answer = read(at);
        this.value[input] = before;
        evaluate(this.walked, this.value, this.solved, nodes);
        return answer;
    }

    private judge(): void {
        this.failing = this.data.not_negative.filter(([n]) => !(this.value[n]! >= 0)).map(([node, what]) => ({node, what}));
    }

    /** Rests that have turned negative: what rests on them has no answer. */
    get failures(): readonly { node: number; what: string }[] { return this.failing; }

    /** The value of a node, or null where there is no answer. */
    answer(n: number): number | null {
        if (this.watched && !this.watched[n]) this.catchUp();
        const value = this.value[n]!;
        if (!Number.isFinite(value)) return null;
        if (this.failing.length === 0) return value;
        const flags = this.ancestors(n);
        return this.failing.some(one => this.concerns(one.node, flags)) ? null : value;
    }

    /** A rest concerns what rests on it, or on what it is the rest of: its first term. */
    private concerns(rest: number, below: Uint8Array): boolean {
        const first = this.argumentsOf(rest)[0];
        return below[rest] === 1 || (first !== undefined && below[first] === 1);
    }

    /** What a node does not cover: factors that do not state an indicator. */
    uncovered(of: number): Set<string> {
        const flags = this.ancestors(of);
        const found = new Set<string>();
        for (const [n, {subject, indicator}] of this.notCovered) if (flags[n]) found.add(`${subject}: ${indicator}`);
        return found;
    }
}

function system(solve: SolveData): System {
    const order = solve.order.length === solve.size ? solve.order : Array.from({length: solve.size}, (_, k) => k);
    return {size: solve.size, right_sides: solve.right_sides, entries: solve.entries, order};
}

/** By node the nodes that take it as an argument: where they start, and one after another. */
function usersOf({start, count, arguments: all}: Walked): [Int32Array, Int32Array] {
    const size = start.length;
    const from = new Int32Array(size + 1);
    for (const n of all) ++from[n + 1]!;
    for (let n = 0; n < size; ++n) from[n + 1]! += from[n]!;
    const next = from.slice();
    const users = new Int32Array(all.length);
    for (let n = 0; n < size; ++n) {
        for (let i = start[n]!; i < start[n]! + count[n]!; ++i) users[next[all[i]!]!++] = n;
    }
    return [from, users];
}
