// Charts: a drawing with its title, its table for those who do not see it, and buttons that save it as picture and
// its data as CSV. Colours are the page's own variables, so that light, dark and print need no second drawing.
import {BarChart} from "echarts/charts";
import {GridComponent, MarkAreaComponent, MarkLineComponent, TooltipComponent} from "echarts/components";
import {init, use, type EChartsCoreOption, type EChartsType} from "echarts/core";
import {SVGRenderer} from "echarts/renderers";
import {h, save} from "./dom";
import {csv, inert, type Cells} from "./words";

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
    height: number | (() => number);
    option: () => EChartsCoreOption;
    data: () => Cells[];  ///< with its head
    words: () => string;  ///< what it shows, in a sentence
}

const drawn = new Set<EChartsType>();
const waiting = new Set<HTMLElement>();
const watcher = new ResizeObserver(entries => {
    for (const {target} of entries) (target as Drawn).chart?.resize();
});
type Drawn = HTMLElement & { chart?: EChartsType };

export function forgetCharts(): void {
    watcher.disconnect();
    for (const chart of drawn) chart.dispose();
    drawn.clear();
}

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
    const draw = () => {
        const height = typeof spec.height === "function" ? spec.height() : spec.height;
        if (area.style.height !== `${height}px`) {
            area.style.height = `${height}px`;
            area.chart?.resize();
        }
        area.setAttribute("aria-label", inert(spec.words()));
        if (!area.isConnected) return;
        if (area.chart) area.chart.setOption(spec.option(), {notMerge: true});
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
            drawn.add(area.chart);
            watcher.observe(area);
        }
        area.chart.setOption(spec.option(), {notMerge: true});
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

/** Bars from left to right, one a row, with their amounts written beside them. */
export function bars(rows: { name: string; value: number; text: string; colour?: string }[], colour: string): EChartsCoreOption {
    const least = Math.min(0, ...rows.map(row => row.value)), most = Math.max(0, ...rows.map(row => row.value));
    const room = 0.24 * (most - least || 1);
    return {
        ...plain,
        grid: {left: 4, right: 4, top: 4, bottom: 4, outerBoundsMode: "same", outerBoundsContain: "axisLabel"},
        xAxis: {type: "value", min: least < 0 ? least - room : 0, max: most + room, show: false},
        yAxis: {type: "category", inverse: true, data: rows.map(row => inert(row.name)), axisTick: {show: false},
            axisLine: {lineStyle: {color: line}, onZero: true}, axisLabel: {...axisText, width: 150, overflow: "truncate", interval: 0}},
        series: [{
            type: "bar", barWidth: "62%", cursor: "default", emphasis: {disabled: true},
            data: rows.map(row => ({
                value: row.value, itemStyle: {color: row.colour ?? colour},
                label: {show: true, position: row.value < 0 ? "left" : "right", formatter: () => inert(row.text), ...axisText},
            })),
            tooltip: {formatter: ({dataIndex}: { dataIndex: number }) => inert(`${rows[dataIndex]!.name}: ${rows[dataIndex]!.text}`)},
        }],
    };
}

export const barHeight = (rows: number) => Math.max(1, rows) * 30 + 8;
