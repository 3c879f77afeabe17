// Built from web/src by web/build.mjs; change it there.
function l(u,M={},...y){let m=document.createElement(u);for(let[f,h]of Object.entries(M))h==null||h===!1||(f.startsWith("on")?m.addEventListener(f.slice(2),h):f==="class"?m.className=h:f==="value"||f==="checked"||f==="disabled"?m[f]=h:m.setAttribute(f,h===!0?"":h));return m.append(...y.filter(f=>f!=null)),m}function P(u,M,y){let m=l("div",{class:`fitkit ${y}`,"data-lm-suppress-shortcuts":"true"});u.append(l("style",{},M),m);let f=()=>{let g=document.body.dataset.jpThemeLight,o=g?g==="false":matchMedia("(prefers-color-scheme: dark)").matches;m.dataset.theme=o?"dark":"light"};f();let h=new MutationObserver(f);return h.observe(document.body,{attributes:!0,attributeFilter:["data-jp-theme-light"]}),[m,()=>h.disconnect()]}var j={stop:"■",warn:"▲",note:"○"};var U=`.fitkit {
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
`;var X=["feature","mode","unit","instrument"],Y={mode:"62px",unit:"42px"};function tt({model:u,el:M}){let[y,m]=P(M,U,"grid"),f=u.get("setup"),h=`fk-${Math.random().toString(36).slice(2)}`,g=X.filter(t=>t!=="instrument"||f.instruments.length),o=[],i={row:0,col:0},H=!1,p=null,b=f.repeats,T=!1,E=l("span",{class:"soft",role:"status"}),C=l("span",{hidden:!0}),R=l("div",{class:"grid-doubts","aria-live":"polite"}),c=l("div",{class:"grid-scroll",tabindex:"0",role:"grid","aria-label":`readings in ${f.file}; type a reading and press Enter; Escape, then Tab, leaves the grid`,onfocus:()=>N(!1),onblur:()=>N(!1)}),K=l("input",{type:"text",value:String(b),size:"2","aria-label":"readings wanted of each feature",onchange:()=>{b=Math.max(1,Math.min(20,Number.parseInt(K.value,10)||b)),K.value=String(b),u.send({kind:"repeats",count:b}),D()}}),A=(t,e,a)=>l("button",{type:"button",title:e,onclick:()=>{v(),a()}},t);y.append(l("div",{class:"grid-bar"},l("span",{class:"file"},f.file),A("Add a feature","at the end",()=>{i={row:o.length,col:0},$(),z("")}),A("Remove","the feature of the picked row",()=>o[i.row]&&u.send({kind:"remove",row:i.row})),A("Leave out / take back","the picked reading, with a reason",G),A("Undo","Ctrl+Z",()=>u.send({kind:"undo"})),l("label",{},"repeats ",K)),c,R,l("div",{class:"grid-foot"},C,E,l("span",{class:"soft grid-keys"},"Enter goes on, arrows and Tab move, Escape then Tab leaves the grid.")));let L=()=>Math.max(b,...o.map(t=>t.cells.length+1)),_=()=>g.length+L(),w=t=>t-g.length;function D(){let t=L(),e=[...g,...Array.from({length:t},(r,x)=>String(x+1)),"best value ± U (95 %)","spread","doubts"],a=r=>r<g.length||r===e.length-1,n=l("tr",{role:"row"},...e.map((r,x)=>l("th",{scope:"col",role:"columnheader",class:a(x)?"words":null},r))),s=(r,x,S)=>`calc(${Math.max(x,Math.min(S,Math.max(0,...r.map(J=>J.length))))}ch + 13px)`;c.style.setProperty("--columns",[s(o.map(r=>r.feature),14,24),...g.slice(1).map(r=>Y[r]??s(f.instruments,10,13)),`repeat(${t}, ${s(o.flatMap(r=>r.cells.map(x=>x.left_out||x.bad?`⊘ ${x.text}`:x.text)),5,14)})`,"158px","92px","minmax(130px, 1fr)"].join(" "));let d=l("tbody",{role:"rowgroup"});o.forEach((r,x)=>d.append(I(r,x,t)));let k=l("tr",{role:"row","data-row":o.length},l("td",{role:"gridcell",class:"name soft","data-col":0},"new feature …"));for(let r=1;r<e.length;r++)k.append(l("td",{role:"gridcell"}));d.append(k),c.replaceChildren(l("table",{role:"presentation"},l("thead",{role:"rowgroup"},n),d)),c.dataset.columns=String(t),$(!1)}function I(t,e,a=Number(c.dataset.columns)){let n=l("tr",{role:"row","data-row":e});g.forEach((s,d)=>n.append(l("td",{role:"gridcell",class:d?"choice":"name","data-col":d,title:t[s]||null},t[s]||(d?"–":""))));for(let s=0;s<a;s++){let d=t.cells[s],k=d?.bad?`${j.stop} `:d?.left_out?"⊘ ":"",r=l("td",{role:"gridcell",class:d?.bad?"cell bad":"cell","data-col":g.length+s,title:d?.bad||(d?.left_out?`left out: ${d.left_out}`:null)},d?k+d.text:"");n.append(r)}return n.append(l("td",{role:"gridcell",class:"result"},t.mean),l("td",{role:"gridcell",class:"result"},t.spread),l("td",{role:"gridcell",class:"flags"},...F(t))),n}function F(t){let e=new Map;for(let a of t.flags)e.set(a.short,[...e.get(a.short)??[],a]);return[...e].flatMap(([a,n])=>[l("span",{class:n[0].severity,title:n.map(s=>s.text).join(`
`)},`${j[n[0].severity]} ${a}${n.length>1?` ×${n.length}`:""}`)," "])}let W=(t,e)=>c.querySelector(`tr[data-row="${t}"] > td[data-col="${e}"]`);function B(){let t=Math.max(0,o.findIndex(a=>a.cells.length<b)),e=o[t]?.cells.length??0;return{row:t,col:g.length+(e<b?e:0)}}function $(t=!0){c.querySelector("td.here")?.classList.remove("here"),i.row=Math.max(0,Math.min(i.row,o.length)),i.col=i.row===o.length?0:Math.max(0,Math.min(i.col,_()-1));let e=W(i.row,i.col);e?.classList.add("here"),e&&(e.id=`${h}-${i.row}-${i.col}`,c.setAttribute("aria-activedescendant",e.id));let a=o[i.row];R.replaceChildren(...(a?.flags??[]).map(n=>l("div",{class:n.severity},`${j[n.severity]} ${a.feature}: ${n.text}`))),t&&e?.scrollIntoView({block:"nearest",inline:"nearest"})}function q(t,e){i={row:i.row+t,col:i.col+e},$()}function V(t){return t&&i.row===0&&i.col===0||!t&&i.row===o.length?!1:(t&&i.col===0?i={row:i.row-1,col:_()-1}:!t&&i.col===_()-1?i={row:i.row+1,col:0}:i={row:i.row,col:i.col+(t?-1:1)},!0)}function N(t){T!==t&&(T=t,c.classList.toggle("leaving",t),E.className="soft",E.textContent=t?"Tab leaves the grid now; any other key goes on in it.":"")}function Z(t=!1){let e=w(i.col);e<0?i=i.col===0&&o[i.row]?{row:i.row,col:g.length}:{row:i.row+1,col:i.col}:t?i=e?{row:i.row,col:i.col-1}:{row:Math.max(0,i.row-1),col:g.length+b-1}:e+1<b?i={row:i.row,col:i.col+1}:i={row:i.row+1,col:g.length},$()}function z(t){let e=W(i.row,i.col);if(!e||p)return;let{row:a,col:n}=i,s=g[n],d=s?o[a]?.[s]??"":o[a]?.cells[w(n)]?.text??"",k={mode:f.modes,unit:f.units,instrument:["",...f.instruments]}[s],r=k?l("select",{},...k.map(S=>l("option",{value:S},S||"none"))):l("input",{type:"text",spellcheck:"false",autocomplete:"off"});r.value=t??d,k&&(r.value=d),r.setAttribute("aria-label",s??`reading ${w(n)+1} of ${o[a]?.feature}`);let x=[...e.childNodes];e.replaceChildren(r),p={input:r,row:a,col:n,now:d,before:x,cell:e},r.addEventListener("blur",()=>v()),k&&r.addEventListener("change",()=>{v(),c.focus({preventScroll:!0})}),r.focus({preventScroll:!0}),t===void 0&&!k&&r.select()}function v(t=!0){if(!p)return;let{input:e,row:a,col:n,now:s,before:d,cell:k}=p;p=null;let r=e.value.trim(),x=g[n];if(!t||r===s){k.replaceChildren(...d);return}if(k.replaceChildren(document.createTextNode(r)),a===o.length){if(!r){k.textContent="new feature …";return}u.send({kind:"add",name:r}),o.push({feature:r,mode:o.at(-1)?.mode??"outside",unit:o.at(-1)?.unit??"mm",cells:[],mean:"",spread:"",flags:[]}),D()}else if(x)o[a][x]=r,u.send({kind:"head",row:a,column:x,text:r});else{let S=w(n);r?o[a].cells[Math.min(S,o[a].cells.length)]={text:r}:o[a].cells.splice(S,1),u.send({kind:"cell",row:a,repeat:S,text:r})}E.textContent="saving …"}function G(){let t=o[i.row]?.cells[w(i.col)];if(!t){E.textContent="Pick a reading first.";return}let{row:e}=i,a=w(i.col),n=d=>{C.hidden=!0,u.send({kind:"leave",row:e,repeat:a,reason:d}),c.focus()};if(t.left_out){n("");return}let s=l("input",{type:"text",size:"44",placeholder:"why it cannot be right, then Enter","aria-label":"reason",onkeydown:d=>{d.stopPropagation(),d.key==="Enter"&&s.value.trim()&&n(s.value),d.key==="Escape"&&(C.hidden=!0,c.focus())}});C.replaceChildren(`Leave ${t.text} out of ${o[e].feature}: `,s," "),C.hidden=!1,s.focus()}y.addEventListener("keydown",t=>{if(!c.contains(t.target))return;let e=t.key;if(T&&e==="Tab")return;if(e!=="Escape"&&e!=="Shift"&&N(!1),(t.ctrlKey||t.metaKey)&&e.toLowerCase()==="z"){p||(t.preventDefault(),u.send({kind:"undo"}));return}if(t.ctrlKey||t.metaKey||t.altKey)return;let a=p?.input.tagName==="SELECT";if(e==="Enter"){t.preventDefault();let n=p,s=i.col;if(v(),!n&&s>0&&s<g.length){z();return}c.focus({preventScroll:!0}),Z(t.shiftKey)}else if(e==="Tab"){let n=p;if(v(),!V(t.shiftKey)&&!n)return;t.preventDefault(),c.focus({preventScroll:!0}),$()}else if(e==="Escape")t.preventDefault(),p?(v(!1),c.focus({preventScroll:!0})):N(!0);else if(!a&&(e==="ArrowUp"||e==="ArrowDown"))t.preventDefault(),v(),c.focus({preventScroll:!0}),q(e==="ArrowUp"?-1:1,0);else if(!p&&(e==="ArrowLeft"||e==="ArrowRight"))t.preventDefault(),q(0,e==="ArrowLeft"?-1:1);else if(!p&&(e==="Home"||e==="End"))t.preventDefault(),i={row:e==="Home"?0:o.length,col:e==="Home"?g.length:0},$();else if(!p&&e==="F2")t.preventDefault(),z();else if(!p&&(e==="Delete"||e==="Backspace"))t.preventDefault(),w(i.col)>=0&&o[i.row]?.cells[w(i.col)]&&u.send({kind:"cell",row:i.row,repeat:w(i.col),text:""});else if(!p&&e.length===1)t.preventDefault(),z(e);else return;t.stopPropagation()}),c.addEventListener("pointerdown",t=>{let e=t.target.closest("td[data-col]");!e||p?.cell===e||(v(),i={row:Number(e.parentElement.dataset.row),col:Number(e.dataset.col)},$(!1))}),c.addEventListener("dblclick",()=>z()),c.addEventListener("paste",t=>{let e=t.clipboardData.getData("text/plain");p&&!/[\t\n]/.test(e.trim())||(t.preventDefault(),v(!1),c.focus({preventScroll:!0}),E.textContent="pasting …",u.send({kind:"paste",row:Math.min(i.row,o.length),repeat:Math.max(0,w(i.col)),text:e}))});let O=t=>{if(y.dataset.answers=String(Number(y.dataset.answers??0)+1),E.textContent=t.said??"",E.className=t.bad?"message":"soft",t.kind==="all"){let e=p&&{text:p.input.value};p=null,o=t.rows,H||(i=B()),H=!0,D(),e&&z(e.text)}else if(t.kind==="rows"){let e=L();for(let a of t.rows)o[a.at]=a;if(L()!==e||L()!==Number(c.dataset.columns)){let a=p&&{text:p.input.value};p=null,D(),a&&z(a.text);return}for(let a of t.rows){let n=c.querySelector(`tr[data-row="${a.at}"]`);if(!n)continue;[...I(a,a.at).children].forEach((d,k)=>{let r=n.children[k];r!==p?.cell&&r.replaceWith(d)})}$(!1)}};return u.on("msg:custom",O),D(),u.send({kind:"ready"}),()=>{u.off("msg:custom",O),m()}}var ot={render:tt};export{ot as default};
