// Texts and numbers as the page shows them. Whatever comes from a file is made inert: marks that act or turn the
// direction of writing become visible escapes. Texts reach the page as text nodes, never as HTML.

// control characters, line ends, direction marks and invisible characters
const acting = /[\u0000-\u001f\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]/g;

export function inert(text: string): string {
    return text.replace(acting, letter => `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`);
}

/** Thin spaces between groups of three digits; a true minus. */
function grouped(text: string): string {
    const [whole, rest] = text.split(".") as [string, string?];
    const spaced = whole.replace(/\B(?=(\d{3})+(?!\d))/g, "\u202f").replace("-", "−");
    return rest === undefined ? spaced : `${spaced}.${rest}`;
}

/** A whole number. */
export function counted(count: number): string { return grouped(String(count)); }

/** How many significant digits show by how much two values differ, in two digits of the difference. */
export function digitsApart(one: number, other: number): number {
    const share = Math.abs(one - other) / Math.max(Math.abs(one), Math.abs(other));
    return share > 0 ? Math.min(15, Math.max(3, 2 + Math.ceil(-Math.log10(share)))) : 3;
}

/** The fewest digits, from 3 up to 5, in which values that differ are different texts. */
export function digitsTelling(values: readonly number[]): number {
    const distinct = [...new Set(values)];
    for (let digits = 3; digits < 5; ++digits) if (new Set(distinct.map(value => significant(value, digits))).size === distinct.length) return digits;
    return 5;
}

/** Digits of the ends of an interval beside a figure of three: more only where the ends would hide how wide it is. */
export function intervalDigits(low: number, high: number): number { return Math.max(3, digitsApart(low, high) - 1); }

/** Significant digits, as a person reads them; small and large numbers with a power of ten. */
export function significant(value: number, digits = 3): string {
    if (value === 0) return "0";
    const size = Math.abs(value);
    if (size < 1e-4 || size >= 1e12) {
        const [mantissa, power] = value.toExponential(digits - 1).split("e") as [string, string];
        return `${mantissa.replace("-", "−")} × 10${superscript(Number(power))}`;
    }
    const rounded = Number(value.toPrecision(digits));
    const decimals = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(rounded))));
    return grouped(rounded.toFixed(decimals));
}

function superscript(power: number): string {
    return [...String(power)].map(letter => letter === "-" ? "⁻" : "⁰¹²³⁴⁵⁶⁷⁸⁹"[Number(letter)]!).join("");
}

/** The sign stays with its number at the end of a line. */
export function percent(share: number): string { return `${grouped((100 * share).toFixed(1))}\u00a0%`; }

/** A change from `base`, in %; less than a thousandth in two digits, so that a narrow column holds it. */
export function changed(value: number, base: number): string {
    const points = 100 * (value - base) / Math.abs(base);
    return `${signed(points, Math.abs(points) < 0.1 ? 2 : 3)}\u00a0%`;
}

export function signed(value: number, digits = 3): string {
    return value > 0 ? `+${significant(value, digits)}` : significant(value, digits);
}

const marks = {exact: "", at_least: "≥ ", at_most: "≤ ", open: "≈ "};
export function marked(bound: keyof typeof marks, text: string): string { return marks[bound] + text; }

/** Words of ids that are written otherwise than in small letters. */
const spellings: Record<string, string> = {co2: "CO2", ch4: "CH4", n2o: "N2O", sf6: "SF6", nf3: "NF3", cod: "COD", aox: "AOX", lhv: "LHV", hhv: "HHV"};

/** "co2_fossil": "CO2 fossil"; "hfc_134a": "HFC-134a" */
export function spaced(id: string): string {
    return id.replace(/^(hfc|hcfc|cfc|pfc|hfe)_(\w+)$/, (_, family: string, number: string) => `${family.toUpperCase()}-${number}`)
        .split("_").map(word => Object.hasOwn(spellings, word) ? spellings[word]! : word).join(" ");
}

/** "water_consumed": "Water consumed" */
export function plain(id: string): string {
    const words = spaced(id);
    return words.charAt(0).toUpperCase() + words.slice(1);
}

/** A cell of a CSV file (RFC 4180) that no spreadsheet takes for a formula. */
function cell(value: string | number | null): string {
    if (value === null) return "";
    if (typeof value === "number") return String(value);
    const text = /^[=+\-@\t\r]/.test(value) ? `'${inert(value)}` : inert(value);
    return /[",]/.test(text) ? `"${text.replaceAll("\"", "\"\"")}"` : text;
}

export type Cells = (string | number | null)[];
export function csv(rows: Cells[]): string {
    return rows.map(row => `${row.map(cell).join(",")}\r\n`).join("");
}
