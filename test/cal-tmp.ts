import { verdictClaims } from './support/calibration-verdicts.ts';
import { simulatedPanel } from './support/percepts.ts';
const [runs, pattern=''] = process.argv.slice(2);
let last=Date.now();
const names=[];verdictClaims(simulatedPanel(11),0,(s)=>{names.push(s);return false;});for(const n of names.filter(n=>n.includes(pattern))){const t=Date.now();const [r]=verdictClaims(simulatedPanel(11),Number(runs),(s)=>s===n);console.log((r.simulated*100).toFixed(1).padStart(5),(r.error*100).toFixed(1),((Date.now()-t)/Number(runs)).toFixed(1)+'ms',n);}
console.log(Date.now()-last);
