// Built from web/src by web/build.mjs; change it there.
function e(r,x={},...p){let d=document.createElement(r);for(let[n,o]of Object.entries(x))o==null||o===!1||(n.startsWith("on")?d.addEventListener(n.slice(2),o):n==="class"?d.className=o:n==="value"||n==="checked"||n==="disabled"?d[n]=o:d.setAttribute(n,o===!0?"":o));return d.append(...p.filter(n=>n!=null)),d}function L(r,x,p){let d=e("div",{class:`fitkit ${p}`,"data-lm-suppress-shortcuts":"true"});r.append(e("style",{},x),d);let n=()=>{let f=document.body.dataset.jpThemeLight,b=f?f==="false":matchMedia("(prefers-color-scheme: dark)").matches;d.dataset.theme=b?"dark":"light"};n();let o=new MutationObserver(n);return o.observe(document.body,{attributes:!0,attributeFilter:["data-jp-theme-light"]}),[d,()=>o.disconnect()]}var O=`.fitkit {
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
.fitkit.trial svg text { fill: var(--ink); font-size: 12px; }
`;var q="http://www.w3.org/2000/svg",_={"will not go":"✕",tight:"▽","as wanted":"●",loose:"△",rattles:"◇"};function B({model:r,el:x}){let[p,d]=L(x,O,"trial"),n=`fk-${Math.random().toString(36).slice(2)}`,o=()=>({verdicts:{},measured:{},finished:!1,notes:""}),f=o(),b="",m=-1;function l(a){b=a,r.send({kind:"pick",code:a})}function u(){let a=r.get("state");(a.saved!==m||a.code!==p.dataset.code)&&(f=o()),m=a.saved;let{verdicts:s,measured:c}=f,$=p.contains(document.activeElement)?document.activeElement.dataset.key:null,v=t=>a.fault_at===t?e("p",{class:"message",role:"alert",id:`${n}-fault`},`▲ ${a.said}`):null,w=t=>a.fault_at===t?{"aria-invalid":"true","aria-describedby":`${n}-fault`}:{},i=e("input",{type:"text",value:a.fault_at==="code"?b:a.code,spellcheck:"false","data-key":"code","aria-label":"trace code",...w("code"),onchange:()=>g(),onkeydown:t=>{t.key==="Enter"&&(t.preventDefault(),g())}}),k=i.value,g=()=>{i.value!==k&&(k=i.value,l(k))},h=e("select",{"aria-label":"print","data-key":"print",onchange:()=>l(h.value)},...a.prints.map(t=>e("option",{value:t.code},`${t.code} · ${t.title} · ${t.made_on}`)));h.value=a.code;let z=e("input",{type:"checkbox",checked:f.finished,"data-key":"finished",onchange:()=>{f.finished=z.checked}}),S=e("input",{type:"text",value:f.notes,"aria-label":"notes","data-key":"notes",oninput:()=>{f.notes=S.value}}),C=a.fits.flatMap(t=>{let j=e("input",{type:"text",value:c[t.name]??"",size:"12","data-key":`size of ${t.name}`,"aria-label":`${t.name}, measured, mm`,...w(t.name),oninput:()=>{c[t.name]=j.value}}),D=y=>e("button",{type:"button","data-verdict":y,"data-key":`${y}: ${t.name}`,"aria-pressed":String(s[t.name]===y),onclick:G=>{s[t.name]=s[t.name]===y?void 0:y;for(let N of G.target.parentElement.children)N.setAttribute("aria-pressed",String(N.dataset.verdict===s[t.name]));t.name!==r.get("state").fit&&r.send({kind:"fit",name:t.name})}},`${_[y]} ${y}`),A=e("tr",{class:t.name===a.fit?"picked":null},e("th",{scope:"row"},t.name),e("td",{class:"words"},t.wanted),e("td",{},t.expected),e("td",{},j),e("td",{class:"words"},t.judged?e("span",{class:"verdicts"},...a.verdicts.map(D)):"–")),F=v(t.name);return F?[A,e("tr",{},e("td",{class:"words",colspan:"5"},F))]:[A]}),M=e("form",{onsubmit:t=>{t.preventDefault(),r.send({kind:"add",verdicts:{...s},measured:{...c},finished:z.checked,notes:S.value})}},e("div",{},e("label",{},"code on the part",i),v("code")),e("label",{class:"print"},"or pick a print",h),e("div",{class:"wide"},a.fits.length?e("table",{},e("thead",{},e("tr",{},...["fit","wanted","foretold ± (95 %)","measured, mm","how it fitted"].map((t,j)=>e("th",{scope:"col",class:j===1||j===4?"words":null},t)))),e("tbody",{},...C)):"No print in this journal yet: write the files of a part first."),e("label",{},"notes",S),e("label",{},"coated before it was tried",z),e("button",{type:"submit",class:"main",disabled:!a.fits.length,"data-key":"submit"},"Write down"),e("div",{class:"wide"},v("form"),a.bad?null:e("p",{class:"soft",role:"status"},a.said)));p.replaceChildren(M,...a.curve?[I(a.curve,a.before)]:[]),p.dataset.saved=String(a.saved),p.dataset.code=a.code;let E=M.querySelector("[aria-invalid]")??[...M.querySelectorAll("[data-key]")].find(t=>t.dataset.key===$);$&&E&&E.focus()}return r.on("change:state",u),u(),()=>{r.off("change:state",u),d()}}function I(r,x){let[p,d,n,o,f,b]=[760,250,54,16,30,52],m=document.createElementNS(q,"svg"),l=(i,k,g)=>{let h=document.createElementNS(q,i);for(let[z,S]of Object.entries(k))h.setAttribute(z,S);return g&&(h.textContent=g),m.append(h),h};m.setAttribute("viewBox",`0 0 ${p} ${d}`),m.setAttribute("role","img"),m.setAttribute("aria-label",`chance of a fit as wanted against the gap: ${r.about}; best gap ${r.best.toFixed(2)} mm`);let[u,a]=[r.gap[0],r.gap.at(-1)],s=i=>n+(i-u)/(a-u)*(p-n-o),c=i=>d-b-i*(d-f-b),$=i=>i.gap.map((k,g)=>`${g?"L":"M"}${s(k).toFixed(1)},${c(i.chance[g]).toFixed(1)}`).filter((k,g)=>i.gap[g]>=u&&i.gap[g]<=a).join("").replace(/^L/,"M");l("rect",{x:s(r.band[0]),y:f,width:Math.max(0,s(r.band[1])-s(r.band[0])),height:d-f-b,fill:"var(--mark)",opacity:.1});for(let i of[0,.5,1])l("line",{x1:n,x2:p-o,y1:c(i),y2:c(i),stroke:"var(--line)"}),l("text",{x:n-6,y:c(i)+4,"text-anchor":"end"},`${i*100} %`);let v=[.05,.1,.2,.5,1].find(i=>(a-u)/i<9)??2;for(let i=Math.ceil(u/v)*v;i<=a;i+=v)l("line",{x1:s(i),x2:s(i),y1:c(0),y2:c(0)+4,stroke:"var(--soft)"}),l("text",{x:s(i),y:c(0)+17,"text-anchor":"middle"},(Math.abs(i)<1e-9?0:i).toFixed(2));l("text",{x:n,y:d-4},"gap as printed, mm (negative: overlap)"),l("text",{x:n,y:16},`chance that it behaves as wanted: ${r.about}`),x&&l("path",{d:$(x),fill:"none",stroke:"var(--soft)","stroke-width":1.3,"stroke-dasharray":"5 4",class:"before"}),l("path",{d:$(r),fill:"none",stroke:"var(--mark)","stroke-width":2.2,class:"now"}),l("line",{x1:s(r.as_made),x2:s(r.as_made),y1:f,y2:c(0),stroke:"var(--ink)","stroke-dasharray":"2 3"});let w=s(r.as_made)>p-o-80;l("text",{x:s(r.as_made)+(w?4:-4),y:c(0)+32,"text-anchor":w?"end":"start",class:"as-made"},w?"this print ↑":"↑ this print"),l("text",{x:p-o,y:16,"text-anchor":"end"},`best gap ${r.best.toFixed(2)} mm, ${(r.best_chance*100).toFixed(0)} %${x?"; before: dashed":""}`);for(let i of r.trials)l("text",{x:s(i.gap),y:c(0)-6,"text-anchor":"middle",class:"tried"},_[i.verdict]??"?");return l("text",{x:p-o,y:d-4,"text-anchor":"end"},Object.entries(_).map(([i,k])=>`${k} ${i}`).join("   ")),m}var H={render:B};export{H as default};
