// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report_style.h"

namespace chalkfold::output {

const char* const report_style = R"css(
:root { color-scheme: light; }
body { margin: 0 auto; padding: 1.5rem; max-width: 62rem; color: #1c1c1c; background: #fff; font: 16px/1.5 sans-serif; }
h1 { margin: 0; font-size: 1.6rem; }
h2 { margin: 2.2rem 0 .6rem; padding-bottom: .2rem; border-bottom: 2px solid #1c1c1c; font-size: 1.2rem; }
h3 { margin: 0 0 .5rem; font-size: 1.1rem; }
p { margin: .4rem 0; }
.lead { margin-top: .3rem; color: #444; }
article { margin: 1.2rem 0 1.8rem; break-inside: avoid; }
.panel { display: flex; flex-wrap: wrap; gap: 1rem 1.5rem; align-items: flex-start; }
.panel > a { flex: 0 1 auto; max-width: 36rem; }
.beside { flex: 1 1 18rem; }
article img { display: block; max-width: 100%; max-height: 40rem; border: 1px solid #999; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .92rem; font-variant-numeric: tabular-nums; }
th, td { padding: .3rem .6rem; border-bottom: 1px solid #bbb; text-align: left; vertical-align: top; }
th { border-bottom-color: #1c1c1c; font-weight: 600; }
td.n, th.n { text-align: right; white-space: nowrap; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1rem; margin: 0 0 .6rem; }
dt { color: #444; }
dd { margin: 0; overflow-wrap: anywhere; }
.fault { margin: .5rem 0; padding: .4rem .7rem; border: 1px solid #999; border-left-width: 6px; break-inside: avoid; }
.fault.refusal { border-color: #1c1c1c; border-left-style: double; border-left-width: 10px; background: #f1f1f1; }
img.piece { background: #fff; width: 36rem; }
img.crop { max-height: 7rem; max-width: 12rem; border: 1px solid #999; vertical-align: middle; }
.fault.warning { border-left-color: #555; }
.fault.note { border-left-color: #bbb; }
.fault b:first-child { text-transform: uppercase; font-size: .85rem; letter-spacing: .04em; }
footer { margin-top: 2.5rem; padding-top: .5rem; border-top: 1px solid #999; color: #444; font-size: .85rem; }
@media print {
  body { max-width: none; padding: 0; font-size: 10.5pt; }
  .panel { flex-wrap: nowrap; }
  .panel > a { flex: none; max-width: 10.5cm; }
  .beside { flex: 1 1 0; min-width: 0; }
  article { margin: .8rem 0 1rem; }
  article img { max-height: 10.5cm; }
  .scroll { overflow: visible; }
  a { color: inherit; text-decoration: none; }
}
)css";

}  // namespace chalkfold::output
