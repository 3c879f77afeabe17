// Built from web/src by web/build.mjs; change it there.
function e(a,x={},...f){let d=document.createElement(a);for(let[i,o]of Object.entries(x))o==null||o===!1||(i.startsWith("on")?d.addEventListener(i.slice(2),o):i==="class"?d.className=o:i==="value"||i==="checked"||i==="disabled"?d[i]=o:d.setAttribute(i,o===!0?"":o));return d.append(...f.filter(i=>i!=null)),d}function $(a,x,f){let d=e("div",{class:`fitkit ${f}`,"data-lm-suppress-shortcuts":"true"});a.append(e("style",{},x),d);let i=()=>{let c=document.body.dataset.jpThemeLight,k=c?c==="false":matchMedia("(prefers-color-scheme: dark)").matches;d.dataset.theme=k?"dark":"light"};i();let o=new MutationObserver(i);return o.observe(document.body,{attributes:!0,attributeFilter:["data-jp-theme-light"]}),[d,()=>o.disconnect()]}var z=`.fitkit {
  --ink: #1c2321; --soft: #596663; --line: #cfd8d4; --paper: #fbfcfa; --raised: #ffffff; --stage: #eef2ef;
  --mark: #0b6e75; --mark-ink: #ffffff; --bad: #a33b10; --bad-paper: #fdf1ea; --doubt: #7a5900;
  font: 13px/1.4 var(--jp-ui-font-family, system-ui, sans-serif); color: var(--ink); background: var(--paper);
  border: 1px solid var(--line); border-radius: 6px; box-sizing: border-box; container-type: inline-size; max-width: 1500px;
}
.fitkit[data-theme="dark"] {
  --ink: #e3e9e6; --soft: #a3b0ac; --line: #3b4744; --paper: #171d1c; --raised: #202826; --stage: #1d2524;
  --mark: #6cc7bf; --mark-ink: #0d1514; --bad: #ffb38a; --bad-paper: #33211a; --doubt: #e9c46a; color-scheme: dark;
}
.fitkit *, .fitkit *::before { box-sizing: border-box; }
.fitkit [hidden] { display: none !important; }
.fitkit h2 { font-size: 15px; margin: 0; color: var(--ink); } .fitkit h3 { font-size: 13px; margin: 0 0 4px; color: var(--ink); }
.fitkit p { margin: 0; } .fitkit .soft, .fitkit caption, .fitkit .help { color: var(--soft); }
.fitkit button, .fitkit select, .fitkit input[type="text"] {
  font: inherit; color: var(--ink); background: var(--raised); border: 1px solid var(--line); border-radius: 4px; padding: 3px 8px; min-height: 26px;
}
.fitkit select { padding-right: 22px; text-overflow: ellipsis; max-width: 100%; }
.fitkit button { cursor: pointer; } .fitkit button:hover:not(:disabled) { border-color: var(--mark); }
.fitkit button:disabled { opacity: .5; cursor: default; }
.fitkit button[aria-pressed="true"] { background: var(--mark); color: var(--mark-ink); border-color: var(--mark); }
.fitkit button.main { background: var(--mark); color: var(--mark-ink); border-color: var(--mark); font-weight: 600; }
.fitkit button.quiet, .fitkit button.reset { background: none; border: none; color: var(--soft); padding: 0 4px; min-height: 22px; }
.fitkit :focus-visible { outline: 2px solid var(--mark); outline-offset: 1px; }
.fitkit input[type="range"] { accent-color: var(--mark); min-width: 0; } .fitkit input[type="checkbox"] { accent-color: var(--mark); width: 16px; height: 16px; margin: 0; }
.fitkit .message { color: var(--bad); background: var(--bad-paper); border-left: 3px solid var(--bad); padding: 2px 6px; margin: 3px 0; overflow-wrap: anywhere; }
.fitkit table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; font-size: 12.5px; color: var(--ink); }
.fitkit caption { text-align: left; padding: 0 0 3px; caption-side: top; }
.fitkit th, .fitkit td { padding: 3px 8px; border-bottom: 1px solid var(--line); text-align: right; background: none; white-space: nowrap; }
.fitkit th:first-child, .fitkit .words { text-align: left; } .fitkit thead th { color: var(--soft); font-weight: 500; }
.fitkit tbody tr { background: none; }

/* the part panel */
.fitkit.part { display: block; }
.fitkit.part > style { display: none; }
.fitkit .left { padding: 12px; display: flex; flex-direction: column; gap: 10px; min-width: 0; }
.fitkit .right { padding: 12px; display: flex; flex-direction: column; gap: 10px; min-width: 0; }
@container (min-width: 700px) {
  .fitkit .left { float: left; width: 292px; border-right: 1px solid var(--line); max-height: 900px; overflow: auto; }
  .fitkit .left + .right { margin-left: 292px; }
}
.fitkit.part::after { content: ""; display: block; clear: both; }
.fitkit .controls { display: flex; flex-direction: column; gap: 6px; }
.fitkit details { border-top: 1px solid var(--line); padding-top: 4px; }
.fitkit summary { cursor: pointer; font-weight: 600; padding: 2px 0; }
.fitkit .field { display: grid; grid-template-columns: 1fr 132px; column-gap: 8px; align-items: center; padding: 2px 0; }
.fitkit .field > label { overflow-wrap: anywhere; } .fitkit .field > input[type="range"], .fitkit .field > p { grid-column: 1 / -1; }
.fitkit .field > input[type="range"] { width: 100%; height: 16px; margin: 0; }
.fitkit .entry { display: grid; grid-template-columns: 1fr auto 22px; align-items: center; gap: 2px; }
.fitkit .entry input[type="text"] { width: 100%; min-width: 0; text-align: right; font-variant-numeric: tabular-nums; padding: 2px 5px; }
.fitkit .field.text, .fitkit .field.wide { grid-template-columns: 1fr; } .fitkit .field.wide .entry input[type="text"], .fitkit .field.text .entry input[type="text"] { text-align: left; }
.fitkit .entry select { grid-column: 1 / 3; width: 100%; min-width: 0; }
.fitkit .entry .unit { display: none; } .fitkit .reset { grid-column: 3; }
.fitkit .entry input[aria-invalid="true"] { border-color: var(--bad); border-width: 2px; }
.fitkit .field .note { color: var(--mark); font-size: 12px; } .fitkit .field .help { display: none; margin-top: 5px; font-size: 12px; }
.fitkit .field:focus-within .help { display: block; }
.fitkit .list-head { display: flex; justify-content: space-between; align-items: center; padding: 2px 0; }
.fitkit fieldset { border: 1px solid var(--line); border-radius: 4px; margin: 4px 0; padding: 2px 8px 6px; min-width: 0; } .fitkit legend { color: var(--soft); }
.fitkit .actions { display: flex; flex-direction: column; gap: 6px; border-top: 1px solid var(--line); padding-top: 8px; }
.fitkit .actions .sheet { display: grid; grid-template-columns: 1fr 1fr; gap: 4px; } .fitkit .actions .sheet input { grid-column: 1 / -1; }
.fitkit .files { margin: 0; padding-left: 18px; overflow-wrap: anywhere; } .fitkit progress { width: 90px; accent-color: var(--mark); }

.fitkit .bar { display: flex; flex-wrap: wrap; gap: 4px 14px; justify-content: space-between; padding: 0 0 6px; } .fitkit .bar.foot { padding: 6px 0 0; }
.fitkit .bar .set { display: inline-flex; flex-wrap: wrap; gap: 3px; align-items: center; } .fitkit .bar button { padding: 2px 7px; }
.fitkit .cut input[type="range"] { width: 180px; } .fitkit .cut-at { min-width: 92px; font-variant-numeric: tabular-nums; }
.fitkit .stage { position: relative; height: 430px; background: var(--stage); border: 1px solid var(--line); border-radius: 4px; overflow: hidden; }
.fitkit.alone .stage { height: 460px; }
.fitkit .stage canvas, .fitkit .stage > img { display: block; width: 100%; height: 100%; touch-action: none; transition: opacity .15s; } .fitkit .stage > img { object-fit: contain; }
.fitkit .stage > svg { position: absolute; inset: 0; pointer-events: none; }
.fitkit .stage.stale canvas, .fitkit .stage.stale > img { opacity: .4; } .fitkit .stage.stale > svg { opacity: .4; }
.fitkit .progress { position: absolute; right: 10px; bottom: 10px; background: var(--raised); border: 1px solid var(--line); border-radius: 12px; padding: 2px 10px 2px 26px; }
.fitkit .progress::before { content: ""; position: absolute; left: 9px; top: 6px; width: 11px; height: 11px; border-radius: 50%; border: 2px solid var(--mark); border-right-color: transparent; animation: fitkit-turn .8s linear infinite; }
@keyframes fitkit-turn { to { transform: rotate(1turn); } }
.fitkit .stage-note { position: absolute; left: 10px; bottom: 10px; background: var(--raised); border: 1px solid var(--line); padding: 3px 8px; border-radius: 4px; }
.fitkit .legend, .fitkit .keys { position: absolute; right: 10px; top: 10px; background: var(--raised); border: 1px solid var(--line); border-radius: 4px; padding: 6px 10px; font-size: 12px; }
.fitkit .legend ul { list-style: none; margin: 3px 0; padding: 0; } .fitkit .legend li { display: flex; gap: 6px; align-items: center; } .fitkit .legend i { width: 14px; height: 14px; border: 1px solid var(--line); }
.fitkit .keys { left: 10px; right: auto; margin: 0; display: grid; grid-template-columns: auto auto; gap: 1px 12px; } .fitkit .keys dt { font-weight: 600; } .fitkit .keys dd { margin: 0; }
.fitkit .readout { position: absolute; background: var(--ink); color: var(--paper); border-radius: 3px; padding: 1px 6px; pointer-events: none; font-variant-numeric: tabular-nums; }
.fitkit .sizes { overflow-x: auto; } .fitkit .sizes td.arrow { padding: 3px 0; color: var(--soft); } .fitkit .sizes td.drawn { font-weight: 700; }
.fitkit .findings ul { list-style: none; margin: 0; padding: 0; display: flex; flex-direction: column; gap: 3px; }
.fitkit .findings li > button { width: 100%; text-align: left; padding: 4px 8px; white-space: normal; } .fitkit .findings li > button:disabled { opacity: 1; }
.fitkit .findings li { border-left: 3px solid var(--line); } .fitkit .findings li.stop { border-color: var(--bad); } .fitkit .findings li.warn { border-color: var(--doubt); }
.fitkit .findings .stop b { color: var(--bad); } .fitkit .findings .warn b { color: var(--doubt); } .fitkit .findings button[aria-pressed="true"] b { color: inherit; }
.fitkit .findings li[role="alert"] { background: var(--bad-paper); padding: 4px 8px; } .fitkit .findings .remedy { color: var(--soft); } .fitkit .findings button[aria-pressed="true"] .remedy { color: inherit; }

/* the readings grid */
.fitkit.grid { padding: 10px; }
.fitkit .grid-scroll { max-height: 520px; overflow: auto; border: 1px solid var(--line); border-radius: 4px; background: var(--raised); outline-offset: -2px; }
/* Each row lays itself out, and only when it is in sight: a table of a thousand rows would be laid out whole at each key. */
.fitkit .grid-scroll table, .fitkit .grid-scroll tbody { display: block; width: min-content; min-width: 100%; }
.fitkit .grid-scroll thead { display: block; position: sticky; top: 0; z-index: 2; }
.fitkit .grid-scroll tr { display: grid; grid-template-columns: var(--columns); }
.fitkit .grid-scroll tbody tr { content-visibility: auto; contain-intrinsic-size: auto 28px; }
.fitkit .grid-scroll thead th { background: var(--paper); }
.fitkit .grid-scroll th, .fitkit .grid-scroll td { min-height: 27px; padding: 3px 6px; box-sizing: border-box; overflow: hidden; text-overflow: ellipsis; }
.fitkit .grid-scroll td.cell { border-right: 1px solid var(--line); cursor: cell; }
.fitkit .grid-scroll td.name { text-align: left; border-right: 1px solid var(--line); font-weight: 600; cursor: cell; position: sticky; left: 0; background: var(--raised); z-index: 1; }
.fitkit .grid-scroll td.choice { cursor: pointer; color: var(--soft); text-align: left; border-right: 1px solid var(--line); }
.fitkit .grid-scroll td.here { outline: 2px solid var(--mark); outline-offset: -2px; } .fitkit .grid-scroll.leaving td.here { outline-style: dashed; }
.fitkit .grid-scroll td.bad { color: var(--bad); } .fitkit .grid-scroll td.result { background: var(--paper); }
.fitkit .grid-scroll td.flags { text-align: left; white-space: normal; font-size: 12px; background: var(--paper); } .fitkit .grid-scroll td.flags span { white-space: nowrap; }
.fitkit .grid-scroll td.flags .warn { color: var(--doubt); } .fitkit .grid-scroll td.flags .stop { color: var(--bad); }
.fitkit .grid-scroll td input, .fitkit .grid-scroll td select { width: 100%; min-width: 0; height: 24px; margin: -2px 0; min-height: 0; padding: 0 3px; border: none; border-radius: 0; text-align: inherit; background: var(--raised); outline: none; }
.fitkit .grid-bar { display: flex; flex-wrap: wrap; gap: 6px; align-items: center; padding-bottom: 8px; } .fitkit .grid-bar .file { font-weight: 600; }
.fitkit .grid-foot { padding-top: 6px; min-height: 24px; display: flex; flex-wrap: wrap; gap: 2px 16px; justify-content: space-between; } .fitkit .grid-keys { margin-left: auto; } .fitkit .grid-doubts { min-height: 58px; padding-top: 6px; } .fitkit .grid-doubts .warn { color: var(--doubt); } .fitkit .grid-doubts .stop { color: var(--bad); }

/* the trial entry */
.fitkit.trial { padding: 12px; }
.fitkit.trial form { display: grid; grid-template-columns: repeat(auto-fit, minmax(170px, 1fr)); gap: 8px 12px; align-items: start; } .fitkit.trial form > button { align-self: end; }
.fitkit.trial label { display: flex; flex-direction: column; gap: 2px; } .fitkit.trial .wide { grid-column: 1 / -1; }
.fitkit.trial label.print { grid-column: span 2; min-width: 0; } .fitkit.trial td .message { white-space: normal; }
.fitkit.trial .verdicts { display: flex; flex-wrap: wrap; gap: 4px; } .fitkit.trial svg { width: 100%; max-width: 760px; height: auto; display: block; margin-top: 10px; }
.fitkit.trial svg text { fill: var(--ink); font-size: 12px; }
`;var j="http://www.w3.org/2000/svg",y={"will not go":"✕",tight:"▽","as wanted":"●",loose:"△",rattles:"◇"};function A({model:a,el:x}){let[f,d]=$(x,z,"trial"),i={},o={},c=-1;function k(){let n=a.get("state");n.saved!==c&&(c=n.saved,i={},o={});let l=e("input",{type:"text",value:n.code,spellcheck:"false","aria-label":"trace code",onchange:()=>{i={},o={},a.send({kind:"pick",code:l.value})}}),u=e("select",{"aria-label":"print",onchange:()=>{i={},o={},a.send({kind:"pick",code:u.value})}},...n.prints.map(r=>e("option",{value:r.code},`${r.code} · ${r.title} · ${r.made_on}`)));u.value=n.code;let h=e("input",{type:"checkbox"}),p=e("input",{type:"text","aria-label":"notes"}),g=n.fits.map(r=>{let t=e("input",{type:"text",value:o[r.name]??"",placeholder:"as measured, mm",size:"12","aria-label":`${r.name}, measured`,oninput:()=>{o[r.name]=t.value}}),b=s=>e("button",{type:"button","data-verdict":s,"aria-pressed":String(i[r.name]===s),onclick:m=>{i[r.name]=i[r.name]===s?void 0:s;for(let w of m.target.parentElement.children)w.setAttribute("aria-pressed",String(w.dataset.verdict===i[r.name]));r.name!==a.get("state").fit&&a.send({kind:"fit",name:r.name})}},`${y[s]} ${s}`);return e("tr",{class:r.name===n.fit?"picked":null},e("th",{scope:"row"},r.name),e("td",{class:"words"},r.wanted),e("td",{},r.expected),e("td",{},t),e("td",{class:"words"},r.judged?e("span",{class:"verdicts"},...n.verdicts.map(b)):"–"))}),v=e("form",{onsubmit:r=>{r.preventDefault(),a.send({kind:"add",verdicts:{...i},measured:{...o},finished:h.checked,notes:p.value})}},e("label",{},"code on the part",l),e("label",{},"or pick a print",u),e("div",{class:"wide"},n.fits.length?e("table",{},e("thead",{},e("tr",{},...["fit","wanted","foretold ± (95 %)","measured","how it fitted"].map((r,t)=>e("th",{scope:"col",class:t===1||t===4?"words":null},r)))),e("tbody",{},...g)):"No print in this journal yet: write the files of a part first."),e("label",{},"notes",p),e("label",{},"coated before it was tried",h),e("button",{type:"submit",class:"main",disabled:!n.fits.length},"Write down"),e("p",{class:n.bad?"message wide":"soft wide",role:"status"},n.said));f.replaceChildren(v,...n.curve?[F(n.curve,n.before)]:[]),f.dataset.saved=String(n.saved)}return a.on("change:state",k),k(),()=>{a.off("change:state",k),d()}}function F(a,x){let[f,d,i,o,c,k]=[760,250,54,16,30,52],n=document.createElementNS(j,"svg"),l=(t,b,s)=>{let m=document.createElementNS(j,t);for(let[w,S]of Object.entries(b))m.setAttribute(w,S);return s&&(m.textContent=s),n.append(m),m};n.setAttribute("viewBox",`0 0 ${f} ${d}`),n.setAttribute("role","img"),n.setAttribute("aria-label",`chance of a fit as wanted against the gap: ${a.about}; best gap ${a.best.toFixed(2)} mm`);let[u,h]=[a.gap[0],a.gap.at(-1)],p=t=>i+(t-u)/(h-u)*(f-i-o),g=t=>d-k-t*(d-c-k),v=t=>t.gap.map((b,s)=>`${s?"L":"M"}${p(b).toFixed(1)},${g(t.chance[s]).toFixed(1)}`).filter((b,s)=>t.gap[s]>=u&&t.gap[s]<=h).join("").replace(/^L/,"M");l("rect",{x:p(a.band[0]),y:c,width:Math.max(0,p(a.band[1])-p(a.band[0])),height:d-c-k,fill:"var(--mark)",opacity:.1});for(let t of[0,.5,1])l("line",{x1:i,x2:f-o,y1:g(t),y2:g(t),stroke:"var(--line)"}),l("text",{x:i-6,y:g(t)+4,"text-anchor":"end"},`${t*100} %`);let r=[.05,.1,.2,.5,1].find(t=>(h-u)/t<9)??2;for(let t=Math.ceil(u/r)*r;t<=h;t+=r)l("line",{x1:p(t),x2:p(t),y1:g(0),y2:g(0)+4,stroke:"var(--soft)"}),l("text",{x:p(t),y:g(0)+17,"text-anchor":"middle"},(Math.abs(t)<1e-9?0:t).toFixed(2));l("text",{x:i,y:d-4},"gap as printed, mm (negative: overlap)"),l("text",{x:i,y:16},`chance that it behaves as wanted: ${a.about}`),x&&l("path",{d:v(x),fill:"none",stroke:"var(--soft)","stroke-width":1.3,"stroke-dasharray":"5 4",class:"before"}),l("path",{d:v(a),fill:"none",stroke:"var(--mark)","stroke-width":2.2,class:"now"}),l("line",{x1:p(a.as_made),x2:p(a.as_made),y1:c,y2:g(0),stroke:"var(--ink)","stroke-dasharray":"2 3"}),l("text",{x:p(a.as_made)+4,y:c+12},"this print"),l("text",{x:f-o,y:16,"text-anchor":"end"},`best gap ${a.best.toFixed(2)} mm, ${(a.best_chance*100).toFixed(0)} %${x?"; before: dashed":""}`);for(let t of a.trials)l("text",{x:p(t.gap),y:g(0)-6,"text-anchor":"middle",class:"tried"},y[t.verdict]??"?");return l("text",{x:f-o,y:d-4,"text-anchor":"end"},Object.entries(y).map(([t,b])=>`${b} ${t}`).join("   ")),n}var O={render:A};export{O as default};
