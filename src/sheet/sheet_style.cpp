#include "sheet/sheet_parts.h"

namespace mamelon::detail {

// Swatches stand on the same mid grey in the light and the dark scheme, because a colour is judged
// against what surrounds it.
std::string_view sheet_style() {
  return R"css(
:root{color-scheme:light dark;--page:#fff;--ink:#16191c;--soft:#4a5259;--line:#c3c9ce;--panel:#f4f6f7;
--mark:#0a5a9c;--warn:#8a3d00;--warnpanel:#fdf1e4;--surround:#9a9a9a}
@media (prefers-color-scheme:dark){:root{--page:#14171a;--ink:#eef1f3;--soft:#b9c1c8;--line:#474f56;
--panel:#1e2327;--mark:#7fc1f5;--warn:#ffbe80;--warnpanel:#33261a}}
*{box-sizing:border-box}
body{margin:0;background:var(--page);color:var(--ink);font:17px/1.45 system-ui,"Segoe UI",Roboto,
"Helvetica Neue",Arial,"Noto Sans","DejaVu Sans",sans-serif;overflow-wrap:break-word}
sub{line-height:0;font-size:.72em}
main{max-width:62rem;margin:0 auto;padding:1rem 1.1rem 2rem}
header{border-bottom:3px solid var(--ink);padding-bottom:.5rem;margin-bottom:1rem}
h1{font-size:1.55rem;margin:0;line-height:1.2}
h2{font-size:1.05rem;margin:0 0 .5rem;border-bottom:1px solid var(--line);padding-bottom:.15rem}
h3{font-size:1rem;margin:.6rem 0 .25rem}
p{margin:.25rem 0}
.quiet{color:var(--soft);font-size:.88rem}
.answer{font-size:1.35rem;line-height:1.35;font-weight:600;margin:.2rem 0}
.grid{display:grid;gap:1.1rem 1.6rem;grid-template-columns:minmax(0,1fr)}
section{min-width:0}
figure{margin:0}
figcaption{color:var(--soft);font-size:.88rem;margin-top:.25rem}
svg{display:block;max-width:100%;height:auto}
svg text{fill:var(--ink);font-family:inherit}
svg .soft{fill:var(--soft)}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
caption{text-align:left;color:var(--soft);font-size:.88rem;padding-bottom:.2rem}
th,td{text-align:left;padding:.25rem .55rem .25rem 0;border-bottom:1px solid var(--line);vertical-align:top}
th{font-weight:600}
thead th{font-size:.88rem;color:var(--soft);vertical-align:bottom}
td.n,th.n{text-align:right;white-space:nowrap}
tbody th{min-width:5.6em;overflow-wrap:anywhere}
.side{margin-top:.6rem}.map{margin-bottom:.8rem}
.plots>div{display:flex;gap:.6rem}.plots svg{flex:1 1 0;min-width:0}
tbody tr.first th,tbody tr.first td{font-weight:650}
.pair{display:inline-flex;padding:5px;background:var(--surround);border-radius:2px;vertical-align:middle}
.pair i{display:block;width:1.9rem;height:1.45rem}
ul,ol{margin:.25rem 0;padding-left:1.2rem}
.warn{background:var(--warnpanel);border-left:5px solid var(--warn);padding:.45rem .7rem;margin:.9rem 0}
.warn h2{border:0;color:var(--warn);margin:0;padding:0}
.invented{border:3px solid var(--warn);color:var(--warn);padding:.35rem .7rem;margin:.6rem 0}
.invented strong{text-transform:uppercase;letter-spacing:.08em}
.behind{margin-top:1.6rem;font-size:1.25rem;border-bottom:3px solid var(--ink)}
.fill{display:flex;flex-wrap:wrap;gap:.7rem 1.6rem}
.fill span{flex:1 1 11rem;min-width:0;display:flex;flex-wrap:wrap;gap:0 .5rem;align-items:flex-end;overflow-wrap:anywhere}
.fill b{flex:1 1 5rem;min-width:0;border-bottom:1px solid var(--ink);min-height:1.5em;font-weight:600}
.chair .steps td,.chair .steps th{padding-top:.35rem;padding-bottom:.35rem}
.steps td:nth-child(2){overflow-wrap:anywhere;width:99%}.steps tbody th{min-width:0}
.box{display:inline-block;width:1.1em;height:1.1em;border:1.5px solid var(--ink);border-radius:2px}
footer{margin-top:1.1rem;border-top:1px solid var(--line);padding-top:.5rem;color:var(--soft);font-size:.85rem}
code{font-family:ui-monospace,"DejaVu Sans Mono",monospace;font-size:.92em}
@media (max-width:42rem){body{font-size:16px}.wide{display:none}thead th,td,th{padding-right:.3rem}
thead th{font-size:.78rem}tbody th{min-width:5em}
.chair .n{white-space:normal}.pair i{width:1.25rem}.answer{font-size:1.2rem}.sd{display:block;color:var(--soft);font-size:.82em}.plots>div{display:block}}
@media (min-width:60rem){.grid{grid-template-columns:minmax(0,5fr) minmax(0,7fr)}.full{grid-column:1/-1}
.cautions ul{columns:2;column-gap:2rem}.cautions li{break-inside:avoid}}
@page{size:A4;margin:8mm 11mm}
@media print{
:root{--page:#fff;--ink:#000;--soft:#333;--line:#aaa;--panel:#fff;--mark:#0a5a9c;--warn:#5c2a00;
--warnpanel:#fff}
body{font-size:7.7pt;line-height:1.18}
main{max-width:none;padding:0}
header{padding-bottom:1mm;margin-bottom:2mm;border-bottom-width:1.5pt}
h1{font-size:12pt;display:inline}header p{display:inline;margin-left:3mm}h2{font-size:9.6pt;margin-bottom:.7mm}h3{font-size:8.8pt;margin:.8mm 0 .3mm}
.answer{font-size:9.4pt;line-height:1.2}
.grid{grid-template-columns:minmax(0,4fr) minmax(0,7fr);gap:1.6mm 6mm}.full{grid-column:1/-1}
.wide{display:table-cell}
th,td{padding:.2mm 2mm .2mm 0;vertical-align:middle}
.pair{padding:.4mm}.pair i{width:6.5mm;height:2.7mm}
.pair,.pair i,svg{print-color-adjust:exact;-webkit-print-color-adjust:exact}
.warn{margin:1.5mm 0;padding:.8mm 2mm}
section,figure,tr{break-inside:avoid}
.cautions ul{columns:2;column-gap:6mm}
ul,ol{margin:.4mm 0;padding-left:4mm}
p{margin:.4mm 0}
footer{margin-top:1.5mm;padding-top:.8mm;font-size:7.4pt}
.quiet,figcaption,caption,thead th{font-size:7.6pt}
.chair{font-size:10.5pt;line-height:1.25;gap:4mm 7mm}.chair section{break-inside:auto}.chair+.behind{break-before:page;margin-top:0}
.chair table,.chair .warn,.chair .fill{font-size:10.5pt}.chair .steps td,.chair .steps th{padding:1mm 2mm 1mm 0}
.chair .quiet,.chair figcaption,.chair thead th{font-size:8.5pt}.chair .section svg{max-height:130mm;height:auto}
.fill{gap:3mm 8mm}.behind{font-size:11pt}.invented{margin:1.5mm 0;padding:1mm 2mm;font-size:10pt}
.photo svg{max-height:43mm}.plots svg{max-height:35mm}
.side{display:grid;grid-template-columns:minmax(0,4fr) minmax(0,9fr);gap:3mm;margin-top:1mm}
.map{margin:0}.map svg{max-height:32mm}.sd{display:inline}
}
)css";
}

}  // namespace mamelon::detail
