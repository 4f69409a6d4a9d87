import { planSource } from './plan-source.js';

self.addEventListener('message', ({ data }) => self.postMessage(planSource(data)));
