// Built from web/src by web/build.mjs; change it there.
function i(r,x={},...d){let s=document.createElement(r);for(let[n,o]of Object.entries(x))o==null||o===!1||(n.startsWith("on")?s.addEventListener(n.slice(2),o):n==="class"?s.className=o:n==="value"||n==="checked"||n==="disabled"?s[n]=o:s.setAttribute(n,o===!0?"":o));return s.append(...d.filter(n=>n!=null)),s}function q(r,x,d){let s=i("div",{class:`fitkit ${d}`,"data-lm-suppress-shortcuts":"true"});r.append(i("style",{},x),s);let n=()=>{let c=document.body.dataset.jpThemeLight,b=c?c==="false":matchMedia("(prefers-color-scheme: dark)").matches;s.dataset.theme=b?"dark":"light"};n();let o=new MutationObserver(n);return o.observe(document.body,{attributes:!0,attributeFilter:["data-jp-theme-light"]}),[s,()=>o.disconnect()]}var C=`.fitkit {
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
.fitkit .entry select { grid-column: 1 / 3; width: 100%; min-width: 0; padding: 3px 14px 3px 4px; }
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
.fitkit .sizes { overflow-x: auto; } .fitkit .sizes details { border: none; } .fitkit .sizes summary { font-weight: 400; color: var(--soft); } .fitkit .notes ul { margin: 0; padding-left: 18px; } .fitkit .sizes td.arrow { padding: 3px 0; color: var(--soft); } .fitkit .sizes td.drawn { font-weight: 700; }
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
.fitkit .grid-scroll td.flags { text-align: left; white-space: normal; font-size: 12px; line-height: 17px; background: var(--paper); } .fitkit .grid-scroll td.flags span { white-space: nowrap; }
.fitkit .grid-scroll td.flags .warn { color: var(--doubt); } .fitkit .grid-scroll td.flags .stop { color: var(--bad); }
.fitkit .grid-scroll td input, .fitkit .grid-scroll td select { width: 100%; min-width: 0; height: 24px; margin: -2px 0; min-height: 0; padding: 0 3px; border: none; border-radius: 0; text-align: inherit; background: var(--raised); outline: none; }
.fitkit .grid-bar { display: flex; flex-wrap: wrap; gap: 6px; align-items: center; padding-bottom: 8px; } .fitkit .grid-bar .file { font-weight: 600; }
.fitkit .grid-foot { padding-top: 6px; min-height: 24px; display: flex; flex-wrap: wrap; gap: 2px 16px; justify-content: space-between; } .fitkit .grid-keys { margin-left: auto; } .fitkit .grid-doubts { min-height: 58px; padding-top: 6px; } .fitkit .grid-doubts .warn { color: var(--doubt); } .fitkit .grid-doubts .stop { color: var(--bad); }

/* the trial entry */
.fitkit.trial { padding: 12px; }
.fitkit.trial form { display: grid; grid-template-columns: repeat(auto-fit, minmax(170px, 1fr)); gap: 8px 12px; align-items: start; } .fitkit.trial form > button { align-self: end; }
.fitkit.trial label { display: flex; flex-direction: column; gap: 2px; } .fitkit.trial .wide { grid-column: 1 / -1; }
.fitkit.trial label.print { grid-column: span 2; min-width: 0; } .fitkit.trial td .message { white-space: normal; } .fitkit.trial input[aria-invalid="true"] { border-color: var(--bad); }
.fitkit.trial .verdicts { display: flex; flex-wrap: wrap; gap: 4px; } .fitkit.trial svg { width: 100%; max-width: 760px; height: auto; display: block; margin-top: 10px; }
.fitkit.trial ul.written { margin: 2px 0; padding-left: 18px; }
.fitkit.trial svg text { fill: var(--ink); font-size: 12px; }
`;var D="http://www.w3.org/2000/svg",L={"will not go":"✕",tight:"▽","as wanted":"●",loose:"△",rattles:"◇"};function K({model:r,el:x}){let[d,s]=q(x,C,"trial"),n=`fk-${Math.random().toString(36).slice(2)}`,o=()=>({verdicts:{},measured:{},finished:!1,notes:""}),c=o(),b="",m=-1;function l(t){b=t,r.send({kind:"pick",code:t})}function u(){let t=r.get("state");(t.saved!==m||t.code&&t.code!==d.dataset.code)&&(c=o()),m=t.saved;let{verdicts:k,measured:f}=c,v=d.contains(document.activeElement)?document.activeElement:null,a=v?.dataset.key??null,h=v?.type==="text"?[v.selectionStart,v.selectionEnd]:null,g=e=>t.fault_at===e?i("p",{class:"message",role:"alert",id:`${n}-fault`},`▲ ${t.said}`):null,w=e=>t.fault_at===e?{"aria-invalid":"true","aria-describedby":`${n}-fault`}:{},z=i("input",{type:"text",value:t.fault_at==="code"?b:t.code,spellcheck:"false","data-key":"code","aria-label":"trace code",...w("code"),onchange:()=>N(),onkeydown:e=>{e.key==="Enter"&&(e.preventDefault(),N())}}),S=z.value,N=()=>{z.value!==S&&(S=z.value,l(S))},M=i("select",{"aria-label":"print","data-key":"print",onchange:()=>l(M.value)},...t.prints.map(e=>i("option",{value:e.code},`${e.code} · ${e.title} · ${e.made_on}`)));M.value=t.code;let _=i("input",{type:"checkbox",checked:c.finished,"data-key":"finished",onchange:()=>{c.finished=_.checked}}),A=i("input",{type:"text",value:c.notes,"aria-label":"notes","data-key":"notes",oninput:()=>{c.notes=A.value}}),G=t.fits.flatMap(e=>{let E=i("input",{type:"text",value:f[e.name]??"",size:"12","data-key":`size of ${e.name}`,"aria-label":`${e.name}, measured, mm`,...w(e.name),oninput:()=>{f[e.name]=E.value}}),R=y=>i("button",{type:"button","data-verdict":y,"data-key":`${y}: ${e.name}`,"aria-pressed":String(k[e.name]===y),onclick:B=>{k[e.name]=k[e.name]===y?void 0:y;for(let W of B.target.parentElement.children)W.setAttribute("aria-pressed",String(W.dataset.verdict===k[e.name]));e.name!==r.get("state").fit&&r.send({kind:"fit",name:e.name})}},`${L[y]} ${y}`),O=i("tr",{class:e.name===t.fit?"picked":null},i("th",{scope:"row"},e.name,e.mark?i("span",{class:"soft"},` (marked ${e.mark})`):null),i("td",{class:"words"},e.wanted),i("td",{},e.expected),i("td",{},E),i("td",{class:"words"},e.judged?i("span",{class:"verdicts"},...t.verdicts.map(R)):"–")),T=g(e.name);return T?[O,i("tr",{},i("td",{class:"words",colspan:"5"},T))]:[O]}),F=i("form",{onsubmit:e=>{e.preventDefault(),r.send({kind:"add",verdicts:{...k},measured:{...f},finished:_.checked,notes:A.value})}},i("div",{},i("label",{},"code on the part",z),g("code")),i("label",{class:"print"},"or pick a print",M),i("div",{class:"wide"},t.fits.length?i("table",{},i("thead",{},i("tr",{},...["fit","wanted","expected ± (95 %)","measured, mm","how it fitted"].map((e,E)=>i("th",{scope:"col",class:E===1||E===4?"words":null},e)))),i("tbody",{},...G)):V(t)),i("label",{},"notes",A),i("label",{},"coated before it was tried",_),i("button",{type:"submit",class:"main",disabled:!t.fits.length,"data-key":"submit"},"Write down"),i("div",{class:"wide"},g("form"),t.bad?null:i("p",{class:"soft",role:"status"},t.said),$(t)));d.replaceChildren(F,...t.curve?[H(t.curve,t.before)]:[]),d.dataset.saved=String(t.saved),t.code&&(d.dataset.code=t.code);let j=F.querySelector("[aria-invalid]")??[...F.querySelectorAll("[data-key]")].find(e=>e.dataset.key===a);a&&j&&j.focus(),h&&j?.type==="text"&&j.dataset.key===a&&j.setSelectionRange(...h)}function $(t){if(!t.tried.length)return null;let k=f=>i("li",{},`${f.on}, ${f.code}: ${f.said} `,f.withdrawn?"(withdrawn)":i("button",{type:"button","data-key":`withdraw ${f.code}`,"aria-label":`withdraw ${f.code}`,onclick:()=>r.send({kind:"withdraw",code:f.code})},"Withdraw"));return i("div",{},i("p",{class:"soft"},"Written down of this print:"),i("ul",{class:"written"},...t.tried.map(k)))}let p=()=>r.send({kind:"refresh"});return d.addEventListener("pointerenter",p),d.addEventListener("focusin",t=>{d.contains(t.relatedTarget)||p()}),r.on("change:state",u),u(),()=>{r.off("change:state",u),s()}}function V(r){return r.prints.length?r.code?"This print has no size that must fit.":"Type the code that is on the part, or pick a print.":"No print in this journal yet: write the files of a part first."}function H(r,x){let[d,s,n,o,c,b]=[760,250,54,16,30,52],m=document.createElementNS(D,"svg"),l=(a,h,g)=>{let w=document.createElementNS(D,a);for(let[z,S]of Object.entries(h))w.setAttribute(z,S);return g&&(w.textContent=g),m.append(w),w};m.setAttribute("viewBox",`0 0 ${d} ${s}`),m.setAttribute("role","img"),m.setAttribute("aria-label",`chance of a fit as wanted against the gap: ${r.about}; best gap ${r.best.toFixed(2)} mm`);let[u,$]=[r.gap[0],r.gap.at(-1)],p=a=>n+(a-u)/($-u)*(d-n-o),t=a=>s-b-a*(s-c-b),k=a=>a.gap.map((h,g)=>`${g?"L":"M"}${p(h).toFixed(1)},${t(a.chance[g]).toFixed(1)}`).filter((h,g)=>a.gap[g]>=u&&a.gap[g]<=$).join("").replace(/^L/,"M");l("rect",{x:p(r.band[0]),y:c,width:Math.max(0,p(r.band[1])-p(r.band[0])),height:s-c-b,fill:"var(--mark)",opacity:.1});for(let a of[0,.5,1])l("line",{x1:n,x2:d-o,y1:t(a),y2:t(a),stroke:"var(--line)"}),l("text",{x:n-6,y:t(a)+4,"text-anchor":"end"},`${a*100} %`);let f=[.05,.1,.2,.5,1].find(a=>($-u)/a<9)??2;for(let a=Math.ceil(u/f)*f;a<=$;a+=f)l("line",{x1:p(a),x2:p(a),y1:t(0),y2:t(0)+4,stroke:"var(--soft)"}),l("text",{x:p(a),y:t(0)+17,"text-anchor":"middle"},(Math.abs(a)<1e-9?0:a).toFixed(2));l("text",{x:n,y:s-4},"gap as printed, mm (negative: overlap)"),l("text",{x:n,y:16},`chance that it behaves as wanted: ${r.about}`),x&&l("path",{d:k(x),fill:"none",stroke:"var(--soft)","stroke-width":1.3,"stroke-dasharray":"5 4",class:"before"}),l("path",{d:k(r),fill:"none",stroke:"var(--mark)","stroke-width":2.2,class:"now"}),l("line",{x1:p(r.as_made),x2:p(r.as_made),y1:c,y2:t(0),stroke:"var(--ink)","stroke-dasharray":"2 3"});let v=p(r.as_made)>d-o-80;l("text",{x:p(r.as_made)+(v?4:-4),y:t(0)+32,"text-anchor":v?"end":"start",class:"as-made"},v?"this print ↑":"↑ this print"),l("text",{x:d-o,y:16,"text-anchor":"end"},`best gap ${r.best.toFixed(2)} mm, ${(r.best_chance*100).toFixed(0)} %${x?"; before: dashed":""}`);for(let a of r.trials)l("text",{x:p(a.gap),y:t(0)-6,"text-anchor":"middle",class:"tried"},L[a.verdict]??"?");return l("text",{x:d-o,y:s-4,"text-anchor":"end"},Object.entries(L).map(([a,h])=>`${h} ${a}`).join("   ")),m}var X={render:K};export{X as default};
