/** Starts the window: host, workers, clock, then the page. */
import { mount } from 'svelte';
import { connect } from '../bridge/host.ts';
import { forgetWidths } from '../braid/measure.ts';
import { ComputeClient, type WorkerLike } from '../compute/client.ts';
import { Session } from '../state/session.svelte.ts';
import App from './App.svelte';
import './base.css';

function makeClient(): ComputeClient {
  const worker = new Worker(new URL('../compute/worker.ts', import.meta.url), { type: 'module' });
  return new ComputeClient(worker as unknown as WorkerLike);
}

const session = new Session(connect(), makeClient(), makeClient(), makeClient, (callback) => {
  const handle = requestAnimationFrame(callback);
  return () => cancelAnimationFrame(handle);
});

async function start(): Promise<void> {
  // Widths of flags are measured, so the type must be there before the first picture.
  await document.fonts.load("600 13px 'Atkinson Hyperlegible Next Variable'");
  forgetWidths();
  const target = document.getElementById('app');
  if (target === null) throw new Error('The page has no place for the app.');
  mount(App, { target, props: { session } });
}

void start();
