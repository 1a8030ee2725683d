/** Does it, but waits no longer than `ms`, and never throws: for the end, when nothing may hold up a process. */
export async function within(ms: number, work: () => Promise<unknown>): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const over = new Promise<void>((resolve) => {
    timer = setTimeout(resolve, ms);
  });
  await Promise.race([work().catch(() => undefined), over]);
  clearTimeout(timer);
}
