// What a browser was doing, by its own trace.

const categories = ['toplevel', 'blink.user_timing', '__metadata'];

/** traced records while something is done on a page that is slowed by a rate. */
export async function traced(phone, rate, work) {
  const tools = await phone.context.newCDPSession(phone.page);
  const events = [];
  tools.on('Tracing.dataCollected', ({ value }) => events.push(...value));
  await tools.send('Emulation.setCPUThrottlingRate', { rate });
  await tools.send('Tracing.start', { transferMode: 'ReportEvents', traceConfig: { includedCategories: categories } });
  try {
    await work();
  } finally {
    const complete = new Promise((done) => tools.once('Tracing.tracingComplete', done));
    await tools.send('Tracing.end');
    await complete;
    await tools.send('Emulation.setCPUThrottlingRate', { rate: 1 });
    await tools.detach();
  }
  return new Trace(events);
}

class Trace {
  constructor(events) {
    this.events = events;
    const workers = events.filter((e) => e.name === 'thread_name' && e.args.name === 'DedicatedWorker thread');
    this.workers = new Set(workers.map((e) => `${e.pid}:${e.tid}`));
  }

  /**
   * between gives the milliseconds from one mark to the next, and how much of the
   * processor's time the worker took in them; time in which other programs had the
   * processor is not the worker's.
   */
  between(from, to) {
    const marks = (name) => this.events.filter((e) => e.name === name && e.cat.includes('blink.user_timing')).map((e) => e.ts);
    const end = Math.min(...marks(to));
    const begin = Math.max(...marks(from).filter((ts) => ts < end));
    if (!Number.isFinite(begin) || !Number.isFinite(end)) throw new Error(`the trace has no ${from} before a ${to}`);
    let busy = 0;
    for (const e of this.events) {
      if (e.ph !== 'X' || e.name !== 'ThreadControllerImpl::RunTask' || !e.dur || !this.workers.has(`${e.pid}:${e.tid}`)) continue;
      const inside = Math.min(e.ts + e.dur, end) - Math.max(e.ts, begin);
      if (inside > 0) busy += (e.tdur || 0) * (inside / e.dur);
    }
    if (busy === 0) throw new Error(`no worker was busy between ${from} and ${to}`);
    return { elapsed: (end - begin) / 1000, worker: busy / 1000 };
  }
}
