// Elements made in one call. Children are elements or texts; texts are made inert and stay texts.
import {inert} from "./words";

type Child = Node | string | null | undefined | false;
type Attributes = Record<string, string | number | boolean | ((event: Event) => void) | null | undefined>;

export function h<K extends keyof HTMLElementTagNameMap>(tag: K, attributes: Attributes = {}, ...children: Child[]): HTMLElementTagNameMap[K] {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
        if (value === null || value === undefined || value === false) continue;
        if (typeof value === "function") element.addEventListener(name, value);
        else element.setAttribute(name, value === true ? "" : inert(String(value)));
    }
    element.append(...children.filter((child): child is Node | string => child !== null && child !== undefined && child !== false)
        .map(child => typeof child === "string" ? inert(child) : child));
    return element;
}

/** Says another text, and leaves one that is the same in peace. */
export function setText(element: Element, text: string): void {
    if (element.textContent !== text) element.textContent = text;
}

/** A choice among values, with its label. */
export function choice(label: string, options: [value: string, text: string, group?: string][], chosen: string,
                       choose: (value: string) => void): HTMLLabelElement {
    const select = h("select", {change: event => choose((event.target as HTMLSelectElement).value)});
    const groups = new Map<string, HTMLOptGroupElement>();
    for (const [value, text, group] of options) {
        const option = h("option", {}, text);
        option.value = value;
        option.selected = value === chosen;
        if (group === undefined) { select.append(option); continue; }
        if (!groups.has(group)) {
            groups.set(group, h("optgroup", {label: group}));
            select.append(groups.get(group)!);
        }
        groups.get(group)!.append(option);
    }
    return h("label", {class: "choice"}, h("span", {}, label), select);
}

/** Offers a text as a file to save. */
export function save(name: string, type: string, content: string | Blob): void {
    const url = URL.createObjectURL(typeof content === "string" ? new Blob([content], {type}) : content);
    const link = h("a", {download: name});
    link.href = url;
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
