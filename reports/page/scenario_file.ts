// What the reader changed, as a file of scenarios that the engine reads (inventories/SCHEMA.md#scenarios).
import type {InputData} from "./data";
import {addressesOf, type Model} from "./model";

export interface Saved { text: string; left: string[]; on: string }

const typedAmount = /^\s*([-+]?[\d_]*\.?[\d_]+(?:[eE][-+]?\d+)?)\s*(.*?)\s*(?:(?:±|×÷|\+\/-).*)?$/u;

/** The unit an amount was typed in, where the number stands as typed; a factor's line is typed for its whole unit. */
function unitOf(model: Model, input: InputData): string {
    const [, number = "", unit = ""] = typedAmount.exec(input.typed) ?? [];
    return number !== "" && Number(number.replaceAll("_", "")) === input.value ? unit : model.calculation.unitOf(input.n);
}

/** An amount as the engine reads it: the shortest decimal that gives this number, with its unit. */
export function amountText(model: Model, node: number, value: number): string {
    return `${value} ${unitOf(model, model.calculation.inputs.get(node)!)}`.trim();
}

/** An amount that a scenario can set: what only another scenario types has no address of today. */
export function canBeSaved(address: string): boolean { return !address.startsWith("scenarios."); }

function ownId(model: Model, wished: string): string {
    const base = wished.toLowerCase().replace(/[^a-z0-9]+/g, "_").replace(/^[^a-z]+|_+$/g, "") || "asked";
    let id = base;
    for (let k = 2; model.scenarios.has(id); ++k) id = `${base}_${k}`;
    return id;
}

/** What a scenario of the changes stands on: today wherever that will do, since a scenario that meets a change of demand
 *  from one source would take these changes for part of it, and give other figures than the page. What only a scenario has
 *  can be changed on that scenario alone: on the one shown, if it has all of it. */
export function standsOn(model: Model, shown: string): string {
    const used = [...model.calculation.changed.keys()].filter(node => canBeSaved(addressesOf(model.calculation.inputs.get(node)!)[0]!)).map(node => model.usedIn(node));
    return ["today", shown, ...model.scenarios.keys()].find(id => used.every(scenarios => scenarios.has(id))) ?? "today";
}

/** A scenario of the changes. */
export function scenarioFile(model: Model, shown: string, title: string, reason: string): Saved {
    const on = standsOn(model, shown);
    const left: string[] = [];
    const changes: string[] = [];
    for (const [node, value] of model.calculation.changed) {
        const address = addressesOf(model.calculation.inputs.get(node)!)[0]!;
        if (!canBeSaved(address) || !model.usedIn(node).has(on)) { left.push(address); continue; }
        changes.push(`      - {set: ${quoted(address)}, to: ${quoted(amountText(model, node, value))}, reason: ${quoted(reason)}}`);
    }
    const id = ownId(model, title);
    const lines = ["# Written by the page of deckle. Name this file under `scenarios` of study.yaml.", "scenarios:",
        `  ${id}:`, `    title: ${quoted(title)}`, ...(on === "today" ? [] : [`    on: [${on}]`]), "    changes:", ...changes];
    return {text: `${lines.join("\n")}\n`, left, on};
}

/** A double-quoted scalar: JSON's escapes are YAML's. */
function quoted(text: string): string {
    return JSON.stringify(text).replace(/[\u007f-\uffff]/g, letter => /[\p{L}\p{N}\p{P}\p{S}]/u.test(letter) && letter < "\ud800" ? letter
        : `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`);
}
