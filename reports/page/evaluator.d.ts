// The evaluator that the build writes from the table of operations (browser_evaluator in engine/graph/faces.h).
declare module "deckle-evaluator" {
    export const operations: string[];
    export const words: string[];

    /** One linear system of a loop. */
    export interface System {
        size: number;
        right_sides: number;
        entries: [number, number][];
        order: number[];
    }

    /** The calculation, by node. */
    export interface Walked {
        operation: Uint8Array;
        start: Int32Array;
        count: Int32Array;
        arguments: Int32Array;
        p: Float64Array;
        q: Float64Array;
        index: Int32Array;
        systems: (System | undefined)[];
    }

    /** Gives the nodes listed their values, in that order. */
    export function evaluate(graph: Walked, v: Float64Array, solved: ArrayLike<number>[], nodes: ArrayLike<number>): void;
}
