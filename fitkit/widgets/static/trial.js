// Built from web/src by web/build.mjs; change it there.
var e={render(){}};export{e as default};
