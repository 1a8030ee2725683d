import { runWorkerProcess } from '../src/queue/worker-process.js';

/** A worker process: takes frames from Redis, measures them, gives back measurements. Any number on any machine. */
await runWorkerProcess(process.env);
