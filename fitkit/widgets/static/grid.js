// Built from web/src by web/build.mjs; change it there.
function a(g,z={},...m){let x=document.createElement(g);for(let[c,d]of Object.entries(z))d==null||d===!1||(c.startsWith("on")?x.addEventListener(c.slice(2),d):c==="class"?x.className=d:c==="value"||c==="checked"||c==="disabled"?x[c]=d:x.setAttribute(c,d===!0?"":d));return x.append(...m.filter(c=>c!=null)),x}function H(g,z,m){let x=a("div",{class:`fitkit ${m}`,"data-lm-suppress-shortcuts":"true"});g.append(a("style",{},z),x);let c=()=>{let n=document.body.dataset.jpThemeLight,i=n?n==="false":matchMedia("(prefers-color-scheme: dark)").matches;x.dataset.theme=i?"dark":"light"};c();let d=new MutationObserver(c);return d.observe(document.body,{attributes:!0,attributeFilter:["data-jp-theme-light"]}),[x,()=>d.disconnect()]}var A={stop:"■",warn:"▲",note:"○"};var T=`.fitkit {
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
.fitkit .grid-scroll table { width: auto; min-width: 100%; border-collapse: separate; border-spacing: 0; }
.fitkit .grid-scroll thead th { position: sticky; top: 0; background: var(--paper); z-index: 2; }
.fitkit .grid-scroll th, .fitkit .grid-scroll td { height: 27px; padding: 0 8px; }
.fitkit .grid-scroll td.cell { min-width: 58px; border-right: 1px solid var(--line); cursor: cell; }
.fitkit .grid-scroll td.name { text-align: left; min-width: 130px; border-right: 1px solid var(--line); font-weight: 600; cursor: cell; position: sticky; left: 0; background: var(--raised); z-index: 1; }
.fitkit .grid-scroll td.choice { cursor: pointer; color: var(--soft); text-align: left; border-right: 1px solid var(--line); }
.fitkit .grid-scroll td.here { outline: 2px solid var(--mark); outline-offset: -2px; }
.fitkit .grid-scroll td.bad { color: var(--bad); } .fitkit .grid-scroll td.result { background: var(--paper); }
.fitkit .grid-scroll td.flags { text-align: left; min-width: 120px; font-size: 12px; background: var(--paper); }
.fitkit .grid-scroll td.flags .warn { color: var(--doubt); } .fitkit .grid-scroll td.flags .stop { color: var(--bad); }
.fitkit .grid-scroll td input, .fitkit .grid-scroll td select { width: 100%; min-width: 60px; height: 24px; min-height: 0; padding: 0 3px; border: none; border-radius: 0; text-align: inherit; background: var(--raised); outline: none; }
.fitkit .grid-bar { display: flex; flex-wrap: wrap; gap: 6px; align-items: center; padding-bottom: 8px; } .fitkit .grid-bar .file { font-weight: 600; }
.fitkit .grid-foot { padding-top: 6px; min-height: 24px; } .fitkit .grid-doubts { min-height: 58px; padding-top: 6px; } .fitkit .grid-doubts .warn { color: var(--doubt); } .fitkit .grid-doubts .stop { color: var(--bad); }

/* the trial entry */
.fitkit.trial { padding: 12px; }
.fitkit.trial form { display: grid; grid-template-columns: repeat(auto-fit, minmax(170px, 1fr)); gap: 8px 12px; align-items: end; }
.fitkit.trial label { display: flex; flex-direction: column; gap: 2px; } .fitkit.trial .wide { grid-column: 1 / -1; }
.fitkit.trial .verdicts { display: flex; flex-wrap: wrap; gap: 4px; } .fitkit.trial svg { width: 100%; max-width: 760px; height: auto; display: block; margin-top: 10px; }
.fitkit.trial svg text { fill: var(--ink); font-size: 12px; }
`;var I=["feature","mode","unit","instrument"];function W({model:g,el:z}){let[m,x]=H(z,T,"grid"),c=g.get("setup"),d=I.filter(t=>t!=="instrument"||c.instruments.length),n=[],i={row:0,col:d.length},f=null,w=c.repeats,E=a("span",{class:"soft",role:"status"}),$=a("span",{hidden:!0}),j=a("div",{class:"grid-doubts","aria-live":"polite"}),u=a("div",{class:"grid-scroll",tabindex:"0",role:"grid","aria-label":`readings in ${c.file}; type a reading and press Enter`}),N=a("input",{type:"text",value:String(w),size:"2","aria-label":"readings wanted of each feature",onchange:()=>{w=Math.max(1,Math.min(20,Number.parseInt(N.value,10)||w)),N.value=String(w),g.send({kind:"repeats",count:w}),D()}}),M=(t,e,r)=>a("button",{type:"button",title:e,onclick:()=>{b(),r()}},t);m.append(a("div",{class:"grid-bar"},a("span",{class:"file"},c.file),M("Add a feature","at the end",()=>{i={row:n.length,col:0},v(),y("")}),M("Remove","the feature of the picked row",()=>n[i.row]&&g.send({kind:"remove",row:i.row})),M("Leave out / take back","the picked reading, with a reason",P),M("Undo","Ctrl+Z",()=>g.send({kind:"undo"})),a("label",{},"repeats ",N)),u,j,a("div",{class:"grid-foot"},$,E));let C=()=>Math.max(w,...n.map(t=>t.cells.length+1)),U=()=>d.length+C(),h=t=>t-d.length;function D(){let t=C(),e=a("tr",{},...d.map(o=>a("th",{scope:"col"},o)),...Array.from({length:t},(o,l)=>a("th",{scope:"col"},String(l+1))),a("th",{scope:"col"},"best value ± U (95 %)"),a("th",{scope:"col"},"spread"),a("th",{scope:"col"},"doubts")),r=a("tbody");n.forEach((o,l)=>r.append(R(o,l,t)));let s=a("tr",{"data-row":n.length},a("td",{class:"name soft","data-col":0},"new feature …"));for(let o=1;o<d.length+t+3;o++)s.append(a("td"));r.append(s),u.replaceChildren(a("table",{},a("thead",{},e),r)),u.dataset.columns=String(t),v(!1)}function R(t,e,r=Number(u.dataset.columns)){let s=a("tr",{"data-row":e});d.forEach((o,l)=>s.append(a("td",{class:l?"choice":"name","data-col":l},t[o]||(l?"–":""))));for(let o=0;o<r;o++){let l=t.cells[o],k=l?.bad?`${A.stop} `:l?.left_out?"⊘ ":"",p=a("td",{class:l?.bad?"cell bad":"cell","data-col":d.length+o,title:l?.bad||(l?.left_out?`left out: ${l.left_out}`:null)},l?k+l.text:"");s.append(p)}return s.append(a("td",{class:"result"},t.mean),a("td",{class:"result"},t.spread),a("td",{class:"flags"},...t.flags.map(o=>a("span",{class:o.severity,title:o.text},`${A[o.severity]} ${o.short} `)))),s}let _=(t,e)=>u.querySelector(`tr[data-row="${t}"] > td[data-col="${e}"]`);function v(t=!0){u.querySelector("td.here")?.classList.remove("here"),i.row=Math.max(0,Math.min(i.row,n.length)),i.col=i.row===n.length?0:Math.max(0,Math.min(i.col,U()-1));let e=_(i.row,i.col);e?.classList.add("here");let r=n[i.row];j.replaceChildren(...(r?.flags??[]).map(s=>a("div",{class:s.severity},`${A[s.severity]} ${r.feature}: ${s.text}`))),t&&e?.scrollIntoView({block:"nearest",inline:"nearest"})}function K(t,e){i={row:i.row+t,col:i.col+e},v()}function O(t=!1){let e=h(i.col);e<0?i=i.col===0&&n[i.row]?{row:i.row,col:d.length}:{row:i.row+1,col:i.col}:t?i=e?{row:i.row,col:i.col-1}:{row:Math.max(0,i.row-1),col:d.length+w-1}:e+1<w?i={row:i.row,col:i.col+1}:i={row:i.row+1,col:d.length},v()}function y(t){let e=_(i.row,i.col);if(!e||f)return;let{row:r,col:s}=i,o=d[s],l=o?n[r]?.[o]??"":n[r]?.cells[h(s)]?.text??"",k={mode:c.modes,unit:c.units,instrument:["",...c.instruments]}[o],p=k?a("select",{},...k.map(S=>a("option",{value:S},S||"none"))):a("input",{type:"text",spellcheck:"false",autocomplete:"off"});p.value=t??l,k&&(p.value=l),p.setAttribute("aria-label",o??`reading ${h(s)+1} of ${n[r]?.feature}`);let L=[...e.childNodes];e.replaceChildren(p),f={input:p,row:r,col:s,now:l,before:L,cell:e},p.addEventListener("blur",()=>b()),k&&p.addEventListener("change",()=>{b(),u.focus({preventScroll:!0})}),p.focus({preventScroll:!0}),t===void 0&&!k&&p.select()}function b(t=!0){if(!f)return;let{input:e,row:r,col:s,now:o,before:l,cell:k}=f;f=null;let p=e.value.trim(),L=d[s];if(!t||p===o){k.replaceChildren(...l);return}if(k.replaceChildren(document.createTextNode(p)),r===n.length){if(!p){k.textContent="new feature …";return}g.send({kind:"add",name:p}),n.push({feature:p,mode:n.at(-1)?.mode??"outside",unit:n.at(-1)?.unit??"mm",cells:[],mean:"",spread:"",flags:[]}),D()}else if(L)n[r][L]=p,g.send({kind:"head",row:r,column:L,text:p});else{let S=h(s);p?n[r].cells[Math.min(S,n[r].cells.length)]={text:p}:n[r].cells.splice(S,1),g.send({kind:"cell",row:r,repeat:S,text:p})}E.textContent="saving …"}function P(){let t=n[i.row]?.cells[h(i.col)];if(!t){E.textContent="Pick a reading first.";return}let{row:e}=i,r=h(i.col),s=l=>{$.hidden=!0,g.send({kind:"leave",row:e,repeat:r,reason:l}),u.focus()};if(t.left_out){s("");return}let o=a("input",{type:"text",size:"44",placeholder:"why it cannot be right, then Enter","aria-label":"reason",onkeydown:l=>{l.stopPropagation(),l.key==="Enter"&&o.value.trim()&&s(o.value),l.key==="Escape"&&($.hidden=!0,u.focus())}});$.replaceChildren(`Leave ${t.text} out of ${n[e].feature}: `,o," "),$.hidden=!1,o.focus()}m.addEventListener("keydown",t=>{if(!u.contains(t.target))return;let e=t.key;if((t.ctrlKey||t.metaKey)&&e.toLowerCase()==="z"){f||(t.preventDefault(),g.send({kind:"undo"}));return}if(t.ctrlKey||t.metaKey||t.altKey)return;let r=f?.input.tagName==="SELECT";if(e==="Enter"){t.preventDefault();let s=f,o=i.col;if(b(),!s&&o>0&&o<d.length){y();return}u.focus({preventScroll:!0}),O(t.shiftKey)}else if(e==="Tab"){if(!f&&i.row===n.length&&!t.shiftKey)return;t.preventDefault(),b(),u.focus({preventScroll:!0}),K(0,t.shiftKey?-1:1)}else if(e==="Escape"){if(!f)return;t.preventDefault(),b(!1),u.focus({preventScroll:!0})}else if(!r&&(e==="ArrowUp"||e==="ArrowDown"))t.preventDefault(),b(),u.focus({preventScroll:!0}),K(e==="ArrowUp"?-1:1,0);else if(!f&&(e==="ArrowLeft"||e==="ArrowRight"))t.preventDefault(),K(0,e==="ArrowLeft"?-1:1);else if(!f&&(e==="Home"||e==="End"))t.preventDefault(),i={row:e==="Home"?0:n.length,col:e==="Home"?d.length:0},v();else if(!f&&e==="F2")t.preventDefault(),y();else if(!f&&(e==="Delete"||e==="Backspace"))t.preventDefault(),h(i.col)>=0&&n[i.row]?.cells[h(i.col)]&&g.send({kind:"cell",row:i.row,repeat:h(i.col),text:""});else if(!f&&e.length===1)t.preventDefault(),y(e);else return;t.stopPropagation()}),u.addEventListener("pointerdown",t=>{let e=t.target.closest("td[data-col]");!e||f?.cell===e||(b(),i={row:Number(e.parentElement.dataset.row),col:Number(e.dataset.col)},v(!1))}),u.addEventListener("dblclick",()=>y()),u.addEventListener("paste",t=>{let e=t.clipboardData.getData("text/plain");f&&!/[\t\n]/.test(e.trim())||(t.preventDefault(),b(!1),u.focus({preventScroll:!0}),E.textContent="pasting …",g.send({kind:"paste",row:Math.min(i.row,n.length),repeat:Math.max(0,h(i.col)),text:e}))});let q=t=>{if(m.dataset.answers=String(Number(m.dataset.answers??0)+1),E.textContent=t.said??"",E.className=t.bad?"message":"soft",t.kind==="all"){let e=f&&{text:f.input.value};f=null,n=t.rows,D(),e&&y(e.text)}else if(t.kind==="rows"){let e=C();for(let r of t.rows)n[r.at]=r;if(C()!==e||C()!==Number(u.dataset.columns)){let r=f&&{text:f.input.value};f=null,D(),r&&y(r.text);return}for(let r of t.rows){let s=u.querySelector(`tr[data-row="${r.at}"]`);if(!s)continue;[...R(r,r.at).children].forEach((l,k)=>{let p=s.children[k];p!==f?.cell&&p.replaceWith(l)})}v(!1)}};return g.on("msg:custom",q),D(),g.send({kind:"ready"}),()=>{g.off("msg:custom",q),x()}}var J={render:W};export{J as default};
