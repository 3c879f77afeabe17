// Built from web/src by web/build.mjs; change it there.
function n(x,$={},...w){let k=document.createElement(x);for(let[u,p]of Object.entries($))p==null||p===!1||(u.startsWith("on")?k.addEventListener(u.slice(2),p):u==="class"?k.className=p:u==="value"||u==="checked"||u==="disabled"?k[u]=p:k.setAttribute(u,p===!0?"":p));return k.append(...w.filter(u=>u!=null)),k}function T(x,$,w){let k=n("div",{class:`fitkit ${w}`,"data-lm-suppress-shortcuts":"true"});x.append(n("style",{},$),k);let u=()=>{let o=document.body.dataset.jpThemeLight,i=o?o==="false":matchMedia("(prefers-color-scheme: dark)").matches;k.dataset.theme=i?"dark":"light"};u();let p=new MutationObserver(u);return p.observe(document.body,{attributes:!0,attributeFilter:["data-jp-theme-light"]}),[k,()=>p.disconnect()]}var A={stop:"■",warn:"▲",note:"○"};var q=`.fitkit {
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
/* Each row lays itself out, and only when it is in sight: a table of a thousand rows would be laid out whole at each key. */
.fitkit .grid-scroll table, .fitkit .grid-scroll tbody { display: block; width: max-content; min-width: 100%; }
.fitkit .grid-scroll thead { display: block; position: sticky; top: 0; z-index: 2; }
.fitkit .grid-scroll tr { display: grid; grid-template-columns: var(--columns); }
.fitkit .grid-scroll tbody tr { content-visibility: auto; contain-intrinsic-size: auto 28px; }
.fitkit .grid-scroll thead th { background: var(--paper); }
.fitkit .grid-scroll th, .fitkit .grid-scroll td { min-height: 27px; padding: 3px 6px; box-sizing: border-box; overflow: hidden; text-overflow: ellipsis; }
.fitkit .grid-scroll td.cell { border-right: 1px solid var(--line); cursor: cell; }
.fitkit .grid-scroll td.name { text-align: left; border-right: 1px solid var(--line); font-weight: 600; cursor: cell; position: sticky; left: 0; background: var(--raised); z-index: 1; }
.fitkit .grid-scroll td.choice { cursor: pointer; color: var(--soft); text-align: left; border-right: 1px solid var(--line); }
.fitkit .grid-scroll td.here { outline: 2px solid var(--mark); outline-offset: -2px; }
.fitkit .grid-scroll td.bad { color: var(--bad); } .fitkit .grid-scroll td.result { background: var(--paper); }
.fitkit .grid-scroll td.flags { text-align: left; white-space: normal; font-size: 12px; background: var(--paper); }
.fitkit .grid-scroll td.flags .warn { color: var(--doubt); } .fitkit .grid-scroll td.flags .stop { color: var(--bad); }
.fitkit .grid-scroll td input, .fitkit .grid-scroll td select { width: 100%; min-width: 0; height: 24px; margin: -2px 0; min-height: 0; padding: 0 3px; border: none; border-radius: 0; text-align: inherit; background: var(--raised); outline: none; }
.fitkit .grid-bar { display: flex; flex-wrap: wrap; gap: 6px; align-items: center; padding-bottom: 8px; } .fitkit .grid-bar .file { font-weight: 600; }
.fitkit .grid-foot { padding-top: 6px; min-height: 24px; } .fitkit .grid-doubts { min-height: 58px; padding-top: 6px; } .fitkit .grid-doubts .warn { color: var(--doubt); } .fitkit .grid-doubts .stop { color: var(--bad); }

/* the trial entry */
.fitkit.trial { padding: 12px; }
.fitkit.trial form { display: grid; grid-template-columns: repeat(auto-fit, minmax(170px, 1fr)); gap: 8px 12px; align-items: end; }
.fitkit.trial label { display: flex; flex-direction: column; gap: 2px; } .fitkit.trial .wide { grid-column: 1 / -1; }
.fitkit.trial .verdicts { display: flex; flex-wrap: wrap; gap: 4px; } .fitkit.trial svg { width: 100%; max-width: 760px; height: auto; display: block; margin-top: 10px; }
.fitkit.trial svg text { fill: var(--ink); font-size: 12px; }
`;var B=["feature","mode","unit","instrument"],V={mode:"62px",unit:"42px",instrument:"108px"};function Z({model:x,el:$}){let[w,k]=T($,q,"grid"),u=x.get("setup"),p=B.filter(t=>t!=="instrument"||u.instruments.length),o=[],i={row:0,col:0},j=!1,c=null,h=u.repeats,z=n("span",{class:"soft",role:"status"}),M=n("span",{hidden:!0}),_=n("div",{class:"grid-doubts","aria-live":"polite"}),g=n("div",{class:"grid-scroll",tabindex:"0",role:"grid","aria-label":`readings in ${u.file}; type a reading and press Enter`}),N=n("input",{type:"text",value:String(h),size:"2","aria-label":"readings wanted of each feature",onchange:()=>{h=Math.max(1,Math.min(20,Number.parseInt(N.value,10)||h)),N.value=String(h),x.send({kind:"repeats",count:h}),D()}}),L=(t,e,a)=>n("button",{type:"button",title:e,onclick:()=>{b(),a()}},t);w.append(n("div",{class:"grid-bar"},n("span",{class:"file"},u.file),L("Add a feature","at the end",()=>{i={row:o.length,col:0},y(),E("")}),L("Remove","the feature of the picked row",()=>o[i.row]&&x.send({kind:"remove",row:i.row})),L("Leave out / take back","the picked reading, with a reason",W),L("Undo","Ctrl+Z",()=>x.send({kind:"undo"})),n("label",{},"repeats ",N)),g,_,n("div",{class:"grid-foot"},M,z));let C=()=>Math.max(h,...o.map(t=>t.cells.length+1)),O=()=>p.length+C(),m=t=>t-p.length;function D(){let t=C(),e=[...p,...Array.from({length:t},(d,r)=>String(r+1)),"best value ± U (95 %)","spread","doubts"],a=n("tr",{role:"row"},...e.map((d,r)=>n("th",{scope:"col",role:"columnheader",class:r<p.length?"words":null},d))),f=(d,r,S)=>`calc(${Math.max(r,Math.min(S,Math.max(0,...d.map(v=>v.length))))}ch + 13px)`;g.style.setProperty("--columns",[f(o.map(d=>d.feature),14,24),...p.slice(1).map(d=>V[d]),`repeat(${t}, ${f(o.flatMap(d=>d.cells.map(r=>r.left_out||r.bad?`⊘ ${r.text}`:r.text)),5,14)})`,"158px","76px","minmax(130px, 1fr)"].join(" "));let l=n("tbody",{role:"rowgroup"});o.forEach((d,r)=>l.append(H(d,r,t)));let s=n("tr",{role:"row","data-row":o.length},n("td",{role:"gridcell",class:"name soft","data-col":0},"new feature …"));for(let d=1;d<e.length;d++)s.append(n("td",{role:"gridcell"}));l.append(s),g.replaceChildren(n("table",{role:"presentation"},n("thead",{role:"rowgroup"},a),l)),g.dataset.columns=String(t),y(!1)}function H(t,e,a=Number(g.dataset.columns)){let f=n("tr",{role:"row","data-row":e});p.forEach((l,s)=>f.append(n("td",{role:"gridcell",class:s?"choice":"name","data-col":s,title:t[l]||null},t[l]||(s?"–":""))));for(let l=0;l<a;l++){let s=t.cells[l],d=s?.bad?`${A.stop} `:s?.left_out?"⊘ ":"",r=n("td",{role:"gridcell",class:s?.bad?"cell bad":"cell","data-col":p.length+l,title:s?.bad||(s?.left_out?`left out: ${s.left_out}`:null)},s?d+s.text:"");f.append(r)}return f.append(n("td",{role:"gridcell",class:"result"},t.mean),n("td",{role:"gridcell",class:"result"},t.spread),n("td",{role:"gridcell",class:"flags"},...t.flags.map(l=>n("span",{class:l.severity,title:l.text},`${A[l.severity]} ${l.short} `)))),f}let R=(t,e)=>g.querySelector(`tr[data-row="${t}"] > td[data-col="${e}"]`);function P(){let t=Math.max(0,o.findIndex(a=>a.cells.length<h)),e=o[t]?.cells.length??0;return{row:t,col:p.length+(e<h?e:0)}}function y(t=!0){g.querySelector("td.here")?.classList.remove("here"),i.row=Math.max(0,Math.min(i.row,o.length)),i.col=i.row===o.length?0:Math.max(0,Math.min(i.col,O()-1));let e=R(i.row,i.col);e?.classList.add("here");let a=o[i.row];_.replaceChildren(...(a?.flags??[]).map(f=>n("div",{class:f.severity},`${A[f.severity]} ${a.feature}: ${f.text}`))),t&&e?.scrollIntoView({block:"nearest",inline:"nearest"})}function K(t,e){i={row:i.row+t,col:i.col+e},y()}function U(t=!1){let e=m(i.col);e<0?i=i.col===0&&o[i.row]?{row:i.row,col:p.length}:{row:i.row+1,col:i.col}:t?i=e?{row:i.row,col:i.col-1}:{row:Math.max(0,i.row-1),col:p.length+h-1}:e+1<h?i={row:i.row,col:i.col+1}:i={row:i.row+1,col:p.length},y()}function E(t){let e=R(i.row,i.col);if(!e||c)return;let{row:a,col:f}=i,l=p[f],s=l?o[a]?.[l]??"":o[a]?.cells[m(f)]?.text??"",d={mode:u.modes,unit:u.units,instrument:["",...u.instruments]}[l],r=d?n("select",{},...d.map(v=>n("option",{value:v},v||"none"))):n("input",{type:"text",spellcheck:"false",autocomplete:"off"});r.value=t??s,d&&(r.value=s),r.setAttribute("aria-label",l??`reading ${m(f)+1} of ${o[a]?.feature}`);let S=[...e.childNodes];e.replaceChildren(r),c={input:r,row:a,col:f,now:s,before:S,cell:e},r.addEventListener("blur",()=>b()),d&&r.addEventListener("change",()=>{b(),g.focus({preventScroll:!0})}),r.focus({preventScroll:!0}),t===void 0&&!d&&r.select()}function b(t=!0){if(!c)return;let{input:e,row:a,col:f,now:l,before:s,cell:d}=c;c=null;let r=e.value.trim(),S=p[f];if(!t||r===l){d.replaceChildren(...s);return}if(d.replaceChildren(document.createTextNode(r)),a===o.length){if(!r){d.textContent="new feature …";return}x.send({kind:"add",name:r}),o.push({feature:r,mode:o.at(-1)?.mode??"outside",unit:o.at(-1)?.unit??"mm",cells:[],mean:"",spread:"",flags:[]}),D()}else if(S)o[a][S]=r,x.send({kind:"head",row:a,column:S,text:r});else{let v=m(f);r?o[a].cells[Math.min(v,o[a].cells.length)]={text:r}:o[a].cells.splice(v,1),x.send({kind:"cell",row:a,repeat:v,text:r})}z.textContent="saving …"}function W(){let t=o[i.row]?.cells[m(i.col)];if(!t){z.textContent="Pick a reading first.";return}let{row:e}=i,a=m(i.col),f=s=>{M.hidden=!0,x.send({kind:"leave",row:e,repeat:a,reason:s}),g.focus()};if(t.left_out){f("");return}let l=n("input",{type:"text",size:"44",placeholder:"why it cannot be right, then Enter","aria-label":"reason",onkeydown:s=>{s.stopPropagation(),s.key==="Enter"&&l.value.trim()&&f(l.value),s.key==="Escape"&&(M.hidden=!0,g.focus())}});M.replaceChildren(`Leave ${t.text} out of ${o[e].feature}: `,l," "),M.hidden=!1,l.focus()}w.addEventListener("keydown",t=>{if(!g.contains(t.target))return;let e=t.key;if((t.ctrlKey||t.metaKey)&&e.toLowerCase()==="z"){c||(t.preventDefault(),x.send({kind:"undo"}));return}if(t.ctrlKey||t.metaKey||t.altKey)return;let a=c?.input.tagName==="SELECT";if(e==="Enter"){t.preventDefault();let f=c,l=i.col;if(b(),!f&&l>0&&l<p.length){E();return}g.focus({preventScroll:!0}),U(t.shiftKey)}else if(e==="Tab"){if(!c&&i.row===o.length&&!t.shiftKey)return;t.preventDefault(),b(),g.focus({preventScroll:!0}),K(0,t.shiftKey?-1:1)}else if(e==="Escape"){if(!c)return;t.preventDefault(),b(!1),g.focus({preventScroll:!0})}else if(!a&&(e==="ArrowUp"||e==="ArrowDown"))t.preventDefault(),b(),g.focus({preventScroll:!0}),K(e==="ArrowUp"?-1:1,0);else if(!c&&(e==="ArrowLeft"||e==="ArrowRight"))t.preventDefault(),K(0,e==="ArrowLeft"?-1:1);else if(!c&&(e==="Home"||e==="End"))t.preventDefault(),i={row:e==="Home"?0:o.length,col:e==="Home"?p.length:0},y();else if(!c&&e==="F2")t.preventDefault(),E();else if(!c&&(e==="Delete"||e==="Backspace"))t.preventDefault(),m(i.col)>=0&&o[i.row]?.cells[m(i.col)]&&x.send({kind:"cell",row:i.row,repeat:m(i.col),text:""});else if(!c&&e.length===1)t.preventDefault(),E(e);else return;t.stopPropagation()}),g.addEventListener("pointerdown",t=>{let e=t.target.closest("td[data-col]");!e||c?.cell===e||(b(),i={row:Number(e.parentElement.dataset.row),col:Number(e.dataset.col)},y(!1))}),g.addEventListener("dblclick",()=>E()),g.addEventListener("paste",t=>{let e=t.clipboardData.getData("text/plain");c&&!/[\t\n]/.test(e.trim())||(t.preventDefault(),b(!1),g.focus({preventScroll:!0}),z.textContent="pasting …",x.send({kind:"paste",row:Math.min(i.row,o.length),repeat:Math.max(0,m(i.col)),text:e}))});let I=t=>{if(w.dataset.answers=String(Number(w.dataset.answers??0)+1),z.textContent=t.said??"",z.className=t.bad?"message":"soft",t.kind==="all"){let e=c&&{text:c.input.value};c=null,o=t.rows,j||(i=P()),j=!0,D(),e&&E(e.text)}else if(t.kind==="rows"){let e=C();for(let a of t.rows)o[a.at]=a;if(C()!==e||C()!==Number(g.dataset.columns)){let a=c&&{text:c.input.value};c=null,D(),a&&E(a.text);return}for(let a of t.rows){let f=g.querySelector(`tr[data-row="${a.at}"]`);if(!f)continue;[...H(a,a.at).children].forEach((s,d)=>{let r=f.children[d];r!==c?.cell&&r.replaceWith(s)})}y(!1)}};return x.on("msg:custom",I),D(),x.send({kind:"ready"}),()=>{x.off("msg:custom",I),k()}}var Y={render:Z};export{Y as default};
