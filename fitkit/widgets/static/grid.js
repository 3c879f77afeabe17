// Built from web/src by web/build.mjs; change it there.
function r(g,z={},...b){let x=document.createElement(g);for(let[c,s]of Object.entries(z))s==null||s===!1||(c.startsWith("on")?x.addEventListener(c.slice(2),s):c==="class"?x.className=s:c==="value"||c==="checked"||c==="disabled"?x[c]=s:x.setAttribute(c,s===!0?"":s));return x.append(...b.filter(c=>c!=null)),x}function q(g,z,b){let x=r("div",{class:`fitkit ${b}`,"data-lm-suppress-shortcuts":"true"});g.append(r("style",{},z),x);let c=()=>{let n=document.body.dataset.jpThemeLight,i=n?n==="false":matchMedia("(prefers-color-scheme: dark)").matches;x.dataset.theme=i?"dark":"light"};c();let s=new MutationObserver(c);return s.observe(document.body,{attributes:!0,attributeFilter:["data-jp-theme-light"]}),[x,()=>s.disconnect()]}var K={stop:"■",warn:"▲",note:"○"};var H=`.fitkit {
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
.fitkit .field.text { grid-template-columns: 1fr; } .fitkit .field.text .entry input[type="text"] { text-align: left; }
.fitkit .entry select { grid-column: 1 / 3; width: 100%; min-width: 0; }
.fitkit .entry .unit { display: none; } .fitkit .reset { grid-column: 3; }
.fitkit .entry input[aria-invalid="true"] { border-color: var(--bad); border-width: 2px; }
.fitkit .field .note { color: var(--mark); font-size: 12px; } .fitkit .field .help { display: none; font-size: 12px; }
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
.fitkit .grid-scroll td.cell { min-width: 66px; border-right: 1px solid var(--line); cursor: cell; }
.fitkit .grid-scroll td.name { text-align: left; min-width: 130px; border-right: 1px solid var(--line); font-weight: 600; cursor: cell; position: sticky; left: 0; background: var(--raised); z-index: 1; }
.fitkit .grid-scroll td.choice { cursor: pointer; color: var(--soft); text-align: left; border-right: 1px solid var(--line); }
.fitkit .grid-scroll td.here { outline: 2px solid var(--mark); outline-offset: -2px; }
.fitkit .grid-scroll td.bad { color: var(--bad); } .fitkit .grid-scroll td.result { background: var(--paper); }
.fitkit .grid-scroll td.flags { text-align: left; white-space: normal; min-width: 210px; max-width: 460px; font-size: 12px; background: var(--paper); line-height: 1.25; height: auto; }
.fitkit .grid-scroll td.flags .warn { color: var(--doubt); } .fitkit .grid-scroll td.flags .stop { color: var(--bad); }
.fitkit .grid-scroll td input, .fitkit .grid-scroll td select { width: 100%; min-width: 60px; height: 24px; min-height: 0; padding: 0 3px; border: none; border-radius: 0; text-align: inherit; background: var(--raised); outline: none; }
.fitkit .grid-bar { display: flex; flex-wrap: wrap; gap: 6px; align-items: center; padding-bottom: 8px; } .fitkit .grid-bar .file { font-weight: 600; }
.fitkit .grid-foot { padding-top: 6px; min-height: 24px; }

/* the trial entry */
.fitkit.trial { padding: 12px; }
.fitkit.trial form { display: grid; grid-template-columns: repeat(auto-fit, minmax(170px, 1fr)); gap: 8px 12px; align-items: end; }
.fitkit.trial label { display: flex; flex-direction: column; gap: 2px; } .fitkit.trial .wide { grid-column: 1 / -1; }
.fitkit.trial .verdicts { display: flex; flex-wrap: wrap; gap: 4px; } .fitkit.trial svg { width: 100%; max-width: 760px; height: auto; display: block; margin-top: 10px; }
.fitkit.trial svg text { fill: var(--ink); font-size: 12px; }
`;var F=["feature","mode","unit","instrument"];function I({model:g,el:z}){let[b,x]=q(z,H,"grid"),c=g.get("setup"),s=F.filter(t=>t!=="instrument"||c.instruments.length),n=[],i={row:0,col:s.length},p=null,w=c.repeats,E=r("span",{class:"soft",role:"status"}),D=r("span",{hidden:!0}),u=r("div",{class:"grid-scroll",tabindex:"0",role:"grid","aria-label":`readings in ${c.file}; type a reading and press Enter`}),$=r("input",{type:"text",value:String(w),size:"2","aria-label":"readings wanted of each feature",onchange:()=>{w=Math.max(1,Math.min(20,Number.parseInt($.value,10)||w)),$.value=String(w),g.send({kind:"repeats",count:w}),C()}}),A=(t,e,a)=>r("button",{type:"button",title:e,onclick:()=>{m(),a()}},t);b.append(r("div",{class:"grid-bar"},r("span",{class:"file"},c.file),A("Add a feature","at the end",()=>{i={row:n.length,col:0},v(),y("")}),A("Remove","the feature of the picked row",()=>n[i.row]&&g.send({kind:"remove",row:i.row})),A("Leave out / take back","the picked reading, with a reason",O),A("Undo","Ctrl+Z",()=>g.send({kind:"undo"})),r("label",{},"repeats ",$)),u,r("div",{class:"grid-foot"},D,E));let L=()=>Math.max(w,...n.map(t=>t.cells.length+1)),T=()=>s.length+L(),h=t=>t-s.length;function C(){let t=L(),e=r("tr",{},...s.map(o=>r("th",{scope:"col"},o)),...Array.from({length:t},(o,l)=>r("th",{scope:"col"},String(l+1))),r("th",{scope:"col"},"best value ± U (95 %)"),r("th",{scope:"col"},"spread"),r("th",{scope:"col"},"doubts")),a=r("tbody");n.forEach((o,l)=>a.append(j(o,l,t)));let f=r("tr",{"data-row":n.length},r("td",{class:"name soft","data-col":0},"new feature …"));for(let o=1;o<s.length+t+3;o++)f.append(r("td"));a.append(f),u.replaceChildren(r("table",{},r("thead",{},e),a)),u.dataset.columns=String(t),v(!1)}function j(t,e,a=Number(u.dataset.columns)){let f=r("tr",{"data-row":e});s.forEach((o,l)=>f.append(r("td",{class:l?"choice":"name","data-col":l},t[o]||(l?"–":""))));for(let o=0;o<a;o++){let l=t.cells[o],k=l?.bad?`${K.stop} `:l?.left_out?"⊘ ":"",d=r("td",{class:l?.bad?"cell bad":"cell","data-col":s.length+o,title:l?.bad||(l?.left_out?`left out: ${l.left_out}`:null)},l?k+l.text:"");f.append(d)}return f.append(r("td",{class:"result"},t.mean),r("td",{class:"result"},t.spread),r("td",{class:"flags"},...t.flags.map(o=>r("div",{class:o.severity},`${K[o.severity]} ${o.text}`)))),f}let R=(t,e)=>u.querySelector(`tr[data-row="${t}"] > td[data-col="${e}"]`);function v(t=!0){u.querySelector("td.here")?.classList.remove("here"),i.row=Math.max(0,Math.min(i.row,n.length)),i.col=i.row===n.length?0:Math.max(0,Math.min(i.col,T()-1));let e=R(i.row,i.col);e?.classList.add("here"),t&&e?.scrollIntoView({block:"nearest",inline:"nearest"})}function N(t,e){i={row:i.row+t,col:i.col+e},v()}function U(t=!1){let e=h(i.col);e<0?i=i.col===0&&n[i.row]?{row:i.row,col:s.length}:{row:i.row+1,col:i.col}:t?i=e?{row:i.row,col:i.col-1}:{row:Math.max(0,i.row-1),col:s.length+w-1}:e+1<w?i={row:i.row,col:i.col+1}:i={row:i.row+1,col:s.length},v()}function y(t){let e=R(i.row,i.col);if(!e||p)return;let{row:a,col:f}=i,o=s[f],l=o?n[a]?.[o]??"":n[a]?.cells[h(f)]?.text??"",k={mode:c.modes,unit:c.units,instrument:["",...c.instruments]}[o],d=k?r("select",{},...k.map(S=>r("option",{value:S},S||"none"))):r("input",{type:"text",spellcheck:"false",autocomplete:"off"});d.value=t??l,k&&(d.value=l),d.setAttribute("aria-label",o??`reading ${h(f)+1} of ${n[a]?.feature}`);let M=[...e.childNodes];e.replaceChildren(d),p={input:d,row:a,col:f,now:l,before:M,cell:e},d.addEventListener("blur",()=>m()),k&&d.addEventListener("change",()=>{m(),u.focus({preventScroll:!0})}),d.focus({preventScroll:!0}),t===void 0&&!k&&d.select()}function m(t=!0){if(!p)return;let{input:e,row:a,col:f,now:o,before:l,cell:k}=p;p=null;let d=e.value.trim(),M=s[f];if(!t||d===o){k.replaceChildren(...l);return}if(k.replaceChildren(document.createTextNode(d)),a===n.length){if(!d){k.textContent="new feature …";return}g.send({kind:"add",name:d}),n.push({feature:d,mode:n.at(-1)?.mode??"outside",unit:n.at(-1)?.unit??"mm",cells:[],mean:"",spread:"",flags:[]}),C()}else if(M)n[a][M]=d,g.send({kind:"head",row:a,column:M,text:d});else{let S=h(f);d?n[a].cells[Math.min(S,n[a].cells.length)]={text:d}:n[a].cells.splice(S,1),g.send({kind:"cell",row:a,repeat:S,text:d})}E.textContent="saving …"}function O(){let t=n[i.row]?.cells[h(i.col)];if(!t){E.textContent="Pick a reading first.";return}let{row:e}=i,a=h(i.col),f=l=>{D.hidden=!0,g.send({kind:"leave",row:e,repeat:a,reason:l}),u.focus()};if(t.left_out){f("");return}let o=r("input",{type:"text",size:"44",placeholder:"why it cannot be right, then Enter","aria-label":"reason",onkeydown:l=>{l.stopPropagation(),l.key==="Enter"&&o.value.trim()&&f(o.value),l.key==="Escape"&&(D.hidden=!0,u.focus())}});D.replaceChildren(`Leave ${t.text} out of ${n[e].feature}: `,o," "),D.hidden=!1,o.focus()}b.addEventListener("keydown",t=>{if(!u.contains(t.target))return;let e=t.key;if((t.ctrlKey||t.metaKey)&&e.toLowerCase()==="z"){p||(t.preventDefault(),g.send({kind:"undo"}));return}if(t.ctrlKey||t.metaKey||t.altKey)return;let a=p?.input.tagName==="SELECT";if(e==="Enter"){t.preventDefault();let f=p,o=i.col;if(m(),!f&&o>0&&o<s.length){y();return}u.focus({preventScroll:!0}),U(t.shiftKey)}else if(e==="Tab"){if(!p&&i.row===n.length&&!t.shiftKey)return;t.preventDefault(),m(),u.focus({preventScroll:!0}),N(0,t.shiftKey?-1:1)}else if(e==="Escape"){if(!p)return;t.preventDefault(),m(!1),u.focus({preventScroll:!0})}else if(!a&&(e==="ArrowUp"||e==="ArrowDown"))t.preventDefault(),m(),u.focus({preventScroll:!0}),N(e==="ArrowUp"?-1:1,0);else if(!p&&(e==="ArrowLeft"||e==="ArrowRight"))t.preventDefault(),N(0,e==="ArrowLeft"?-1:1);else if(!p&&(e==="Home"||e==="End"))t.preventDefault(),i={row:e==="Home"?0:n.length,col:e==="Home"?s.length:0},v();else if(!p&&e==="F2")t.preventDefault(),y();else if(!p&&(e==="Delete"||e==="Backspace"))t.preventDefault(),h(i.col)>=0&&n[i.row]?.cells[h(i.col)]&&g.send({kind:"cell",row:i.row,repeat:h(i.col),text:""});else if(!p&&e.length===1)t.preventDefault(),y(e);else return;t.stopPropagation()}),u.addEventListener("pointerdown",t=>{let e=t.target.closest("td[data-col]");!e||p?.cell===e||(m(),i={row:Number(e.parentElement.dataset.row),col:Number(e.dataset.col)},v(!1))}),u.addEventListener("dblclick",()=>y()),u.addEventListener("paste",t=>{let e=t.clipboardData.getData("text/plain");p&&!/[\t\n]/.test(e.trim())||(t.preventDefault(),m(!1),u.focus({preventScroll:!0}),E.textContent="pasting …",g.send({kind:"paste",row:Math.min(i.row,n.length),repeat:Math.max(0,h(i.col)),text:e}))});let _=t=>{if(E.textContent=t.said??"",E.className=t.bad?"message":"soft",t.kind==="all"){let e=p&&{text:p.input.value};p=null,n=t.rows,C(),e&&y(e.text)}else if(t.kind==="rows"){let e=L();for(let a of t.rows)n[a.at]=a;if(L()!==e||L()!==Number(u.dataset.columns)){let a=p&&{text:p.input.value};p=null,C(),a&&y(a.text);return}for(let a of t.rows){let f=u.querySelector(`tr[data-row="${a.at}"]`);if(!f)continue;[...j(a,a.at).children].forEach((l,k)=>{let d=f.children[k];d!==p?.cell&&d.replaceWith(l)})}v(!1)}b.dataset.answers=String(Number(b.dataset.answers??0)+1)};return g.on("msg:custom",_),C(),g.send({kind:"ready"}),()=>{g.off("msg:custom",_),x()}}var G={render:I};export{G as default};
