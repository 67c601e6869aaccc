// What the reader changed, as a file of scenarios that the engine reads (inventories/SCHEMA.md#scenarios).
import {addressesOf, type Model} from "./model";

export interface Saved { text: string; left: string[] }

/** An amount as the engine reads it: the shortest decimal that gives this number, with its unit. */
export function amountText(model: Model, node: number, value: number): string {
    const unit = model.calculation.unitOf(node);
    return unit === "" ? String(value) : `${value} ${unit}`;
}

/** An amount that a scenario can set: what only another scenario types has no address of today. */
export function canBeSaved(address: string): boolean { return !address.startsWith("scenarios."); }

function ownId(model: Model, wished: string): string {
    const base = wished.toLowerCase().replace(/[^a-z0-9]+/g, "_").replace(/^[^a-z]+|_+$/g, "") || "asked";
    let id = base;
    for (let k = 2; model.scenarios.has(id); ++k) id = `${base}_${k}`;
    return id;
}

/** A scenario of the changes, and, seen in another scenario, that one standing on both. */
export function scenarioFile(model: Model, title: string, reason: string, shownScenario: string): Saved {
    const left: string[] = [];
    const changes: string[] = [];
    for (const [node, value] of model.calculation.changed) {
        const address = addressesOf(model.calculation.inputs.get(node)!)[0]!;
        if (!canBeSaved(address)) { left.push(address); continue; }
        changes.push(`      - {set: ${quoted(address)}, to: ${quoted(amountText(model, node, value))}, reason: ${quoted(reason)}}`);
    }
    const id = ownId(model, title);
    const lines = ["# Written by the page of deckle. Name this file under `scenarios` of study.yaml.", "scenarios:",
        `  ${id}:`, `    title: ${quoted(title)}`, "    changes:", ...changes];
    if (shownScenario !== "today") {
        lines.push(`  ${ownId(model, `${id}_${shownScenario}`)}:`, `    title: ${quoted(`${title}, then ${model.scenarios.get(shownScenario)!.title}`)}`,
            `    on: [${id}, ${shownScenario}]`);
    }
    return {text: `${lines.join("\n")}\n`, left};
}

/** A double-quoted scalar: JSON's escapes are YAML's. */
function quoted(text: string): string {
    return JSON.stringify(text).replace(/[\u007f-\uffff]/g, letter => /[\p{L}\p{N}\p{P}\p{S}]/u.test(letter) && letter < "\ud800" ? letter
        : `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`);
}
