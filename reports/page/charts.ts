// Charts: a drawing with its title, its table for those who do not see it, and buttons that save it as picture and
// its data as CSV. Colours are the page's own variables, so that light, dark and print need no second drawing.
import {BarChart} from "echarts/charts";
import {GridComponent, MarkAreaComponent, MarkLineComponent, TooltipComponent} from "echarts/components";
import {init, use, type EChartsCoreOption, type EChartsType} from "echarts/core";
import {SVGRenderer} from "echarts/renderers";
import {h, save} from "./dom";
import {csv, inert, signed, type Cells} from "./words";

use([BarChart, GridComponent, TooltipComponent, MarkLineComponent, MarkAreaComponent, SVGRenderer]);

export const ink = "var(--ink)", line = "var(--line)", paper = "var(--paper)",
    carbon = "var(--carbon)", water = "var(--water)", up = "var(--up)", down = "var(--down)", still = "var(--still)";
// texts are measured before they are drawn, so the font must be known by its name
const font = getComputedStyle(document.documentElement).getPropertyValue("--text").trim();

export const axisText = {color: ink, fontFamily: font, fontSize: 13};

/** What every option starts from: no movement, no HTML in tips. */
export const plain: EChartsCoreOption = {
    animation: false,
    textStyle: {fontFamily: font, color: ink},
    tooltip: {trigger: "item", renderMode: "richText", confine: true, backgroundColor: paper, borderColor: line,
        textStyle: {color: ink, fontSize: 13}},
};

export interface ChartSpec {
    title: string;
    /** By the width there is, in px. */
    height: (width: number) => number;
    option: (width: number) => EChartsCoreOption;
    data: () => Cells[];  ///< with its head
    words: () => string;  ///< what it shows, in a sentence
}

/** A4 less its margins is 688 px wide. */
const paperWidth = 660;

type Drawn = HTMLElement & { chart?: EChartsType };
/** Draws anew at a width. */
const drawn = new Map<Drawn, (width: number) => void>();
const waiting = new Set<HTMLElement>();
const watcher = new ResizeObserver(entries => {
    // a drawing that changes its own height while it is being told of its size would be told without end
    requestAnimationFrame(() => { for (const {target} of entries) drawn.get(target as Drawn)?.(target.clientWidth); });
});

export function forgetCharts(): void {
    watcher.disconnect();
    for (const area of drawn.keys()) area.chart?.dispose();
    drawn.clear();
}

export function drawForPaper(): void { for (const draw of drawn.values()) draw(paperWidth); }
export function drawForScreen(): void { for (const [area, draw] of drawn) draw(area.clientWidth); }

/** A figure element, and what draws it anew. */
export function chart(spec: ChartSpec): { element: HTMLElement; draw: () => void } {
    const area: Drawn = h("div", {class: "drawing", role: "img"});
    const name = inert(spec.title).replace(/[^\p{L}\p{N}]+/gu, "_").slice(0, 60);
    const element = h("figure", {class: "chart"},
        h("figcaption", {}, h("span", {}, spec.title), h("span", {class: "tools"},
            h("button", {type: "button", class: "quiet", "aria-label": `Save ${spec.title} as picture`,
                click: () => void savePicture(area, `${name}.png`)}, "Picture"),
            h("button", {type: "button", class: "quiet", "aria-label": `Save the data of ${spec.title} as CSV`,
                click: () => save(`${name}.csv`, "text/csv", csv(spec.data()))}, "CSV"))),
        area);
    const drawAt = (width: number) => {
        if (width === 0 || !area.chart || !area.isConnected) return;
        const height = spec.height(width);
        area.style.height = `${height}px`;
        area.chart.resize({width, height});
        area.chart.setOption(spec.option(width), {notMerge: true});
        area.querySelector("svg")?.setAttribute("viewBox", `0 0 ${width} ${height}`); // so that paper can scale it
    };
    const draw = () => {
        area.setAttribute("aria-label", inert(spec.words()));
        if (!area.chart) area.style.height = `${spec.height(area.clientWidth || paperWidth)}px`;
        if (!area.isConnected) return;
        if (area.chart) drawAt(area.clientWidth);
        else if (!waiting.has(area)) {
            waiting.add(area);
            requestAnimationFrame(() => setTimeout(begin));  // figures stand before drawings are made
        }
    };
    const begin = () => {
        waiting.delete(area);
        if (!area.isConnected) return;
        if (!area.chart) {
            area.chart = init(area, null, {renderer: "svg"});
            drawn.set(area, drawAt);
            watcher.observe(area);
        }
        drawAt(area.clientWidth);
    };
    return {element, draw};
}

/** The drawing with its colours as they are seen, so that it stands alone. */
function pictureText(area: HTMLElement): { text: string; width: number; height: number } {
    const drawing = area.querySelector("svg")!;
    const style = getComputedStyle(document.documentElement);
    const {width, height} = area.getBoundingClientRect();
    const text = new XMLSerializer().serializeToString(drawing)
        .replace(/var\((--[a-z]+)\)/g, (_, name: string) => style.getPropertyValue(name).trim().replaceAll("\"", "'"));
    return {text, width, height};
}

async function savePicture(area: HTMLElement, name: string): Promise<void> {
    const {text, width, height} = pictureText(area);
    const image = new Image();
    image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
    await image.decode();
    const canvas = h("canvas");
    canvas.width = 2 * width;
    canvas.height = 2 * height;
    const context = canvas.getContext("2d")!;
    context.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--paper");
    context.fillRect(0, 0, canvas.width, canvas.height);
    context.drawImage(image, 0, 0, canvas.width, canvas.height);
    canvas.toBlob(blob => { if (blob) save(name, "image/png", blob); });
}

const fontSize = 13, lineHeight = 16;
const measure = h("canvas").getContext("2d")!;

function textWidth(text: string): number {
    measure.font = `${fontSize}px ${font}`;
    return measure.measureText(text).width;
}

/** Room for the names beside bars: what the longest needs, up to a good part of the drawing. */
function nameWidth(names: string[], width: number): number {
    return Math.ceil(Math.min(Math.max(0, ...names.map(textWidth)) + 4, Math.max(100, 0.42 * width)));
}

function linesOf(name: string, width: number): number {
    let lines = 1, used = 0;
    for (const word of name.split(" ")) {
        const wide = textWidth(`${word} `);
        if (used > 0 && used + wide > width) [lines, used] = [lines + 1, 0];
        lines += Math.floor(wide / width);
        used += wide % width;
    }
    return lines;
}

export interface Bar { name: string; value: number; text: string; colour?: string }

/** Bars from left to right, one a row, from zero, with their amounts written beside them; `axis` is what is drawn along it. */
export function bars(rows: Bar[], colour: string, width: number, axis = ""): EChartsCoreOption {
    const least = Math.min(0, ...rows.map(row => row.value)), most = Math.max(0, ...rows.map(row => row.value));
    const names = rows.map(row => inert(row.name));
    const room = 0.24 * (most - least || 1);
    return {
        ...plain,
        grid: {left: 4, right: 4, top: 4, bottom: axis === "" ? 4 : 34, outerBoundsMode: "same", outerBoundsContain: "axisLabel"},
        xAxis: {type: "value", min: least < 0 ? least - room : 0, max: most + (most > 0 || least === 0 ? room : 0.3 * room), show: axis !== "", name: inert(axis), nameLocation: "middle", nameGap: 26, nameTextStyle: axisText,
            axisLabel: {...axisText, hideOverlap: true, showMinLabel: false, showMaxLabel: false, formatter: (value: number) => signed(value)}, splitLine: {lineStyle: {color: line}}},
        yAxis: {type: "category", inverse: true, data: names, axisTick: {show: false},
            axisLine: {lineStyle: {color: line}, onZero: true}, axisLabel: {...axisText, lineHeight, width: nameWidth(names, width), overflow: "break", interval: 0}},
        series: [{
            type: "bar", barWidth: "62%", barMaxWidth: 30, cursor: "default", emphasis: {disabled: true},
            data: rows.map(row => ({
                value: row.value, itemStyle: {color: row.colour ?? colour},
                label: {show: true, position: row.value < 0 ? "left" : "right", formatter: () => inert(row.text), ...axisText},
            })),
            tooltip: {formatter: ({dataIndex}: { dataIndex: number }) => inert(`${rows[dataIndex]!.name}: ${rows[dataIndex]!.text}`)},
        }],
    };
}

/** Every row as high as the most lines of a name. */
export function barHeight(names: string[], width: number, axis = ""): number {
    const room = nameWidth(names, width);
    const lines = Math.max(1, ...names.map(name => linesOf(name, room)));
    return Math.max(1, names.length) * Math.max(30, lines * lineHeight + 8) + (axis === "" ? 8 : 60);
}
