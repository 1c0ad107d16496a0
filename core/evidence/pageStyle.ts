/** Colours, type and lines of the report's page: the paper sheet. */
export const PAGE_STYLE = `
:root{--sheet:#F3F2EC;--pane:#FBFAF7;--ink:#17212C;--ink2:#46525E;--ink3:#626C76;--rule:#BDBDB3;--hair:#DAD9D0;--band:#D3D8DA}
*{box-sizing:border-box}
body{margin:0;background:var(--sheet);color:var(--ink);font:400 15px/1.5 'Atkinson Hyperlegible Next Variable','Atkinson Hyperlegible Next','Atkinson Hyperlegible',system-ui,sans-serif;font-variant-numeric:tabular-nums}
main{max-width:1180px;margin:0 auto;padding:48px 24px 72px}
h1{font-size:18px;font-weight:600;margin:0 0 24px}
h2{font-size:18px;font-weight:600;margin:0 0 8px;padding-top:24px;border-top:1px solid var(--rule)}
p{margin:0 0 12px;max-width:72ch}
.answer{font-size:26px;font-weight:500;line-height:1.25;margin-bottom:12px}
.caution,.words{color:var(--ink2);font-size:13px}
section{margin-top:48px}
a{color:inherit;text-decoration-color:var(--rule);text-underline-offset:3px}
b{font-weight:600}
.index{list-style:none;margin:24px 0 0;padding:0;columns:3 280px;column-gap:24px;font-size:14px}
.index li{padding:2px 0;break-inside:avoid}
.index b{font-weight:400;color:var(--ink2);margin-left:6px}
.charts{display:grid;grid-template-columns:repeat(auto-fit,minmax(460px,1fr));gap:32px 24px;margin:24px 0 16px}
figure{margin:0}
figure svg{width:100%;height:auto;overflow:visible}
svg text{font-size:12px;fill:var(--ink2)}
svg .name{font-size:14px;font-weight:500;fill:var(--ink)}
svg .hair{stroke:var(--hair);stroke-width:.8}
svg .rule,svg .tickmark{stroke:var(--ink3);stroke-width:.8}
svg .zero{stroke:var(--ink);stroke-width:1}
svg .band{fill:var(--band)}
svg .allowed{fill:var(--hair)}
svg .limit{stroke:var(--ink3);stroke-width:1.2}
svg .curve{fill:none;stroke:var(--ink);stroke-width:2.4;stroke-linejoin:round}
svg .ring{fill:var(--sheet);stroke:var(--ink);stroke-width:1.6}
svg .whisker{stroke:var(--rule);stroke-width:5}
svg .dot{fill:var(--ink)}
table{border-collapse:collapse;width:100%;font-size:14px;margin:16px 0}
table.fitted{width:auto;min-width:560px}
th{font-weight:400;color:var(--ink2);text-align:left;font-size:13px;border-bottom:1px solid var(--rule);padding:4px 16px 4px 0}
td{padding:5px 16px 5px 0;border-bottom:.8px solid var(--hair);vertical-align:top}
.n{text-align:right;white-space:nowrap}
td.words{vertical-align:top}
td .words{max-width:46ch;line-height:1.35}
sup{font-size:10px;line-height:0;color:var(--ink2);margin-left:2px}
code{font-family:'Atkinson Hyperlegible Mono Variable',ui-monospace,monospace;font-size:12px;color:var(--ink2)}
.gauge{vertical-align:-2px}
.verdict{color:var(--ink2)}
tr.fails td{font-weight:600;color:var(--ink)}
.notes,.reasons,.sources ul{font-size:13px;color:var(--ink2);max-width:96ch;padding-left:20px}
.reasons{columns:2 420px;column-gap:32px;margin:8px 0}
.reasons li{break-inside:avoid}
summary{cursor:pointer;font-size:13px;color:var(--ink2);padding:4px 0}
footer{margin-top:48px;border-top:1px solid var(--rule);padding-top:16px}
@media print{details>*{display:block}}
`;
