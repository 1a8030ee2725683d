/** Ends this process in order on SIGTERM or SIGINT, with status 0; a second signal ends it at once. */
export function endOnSignal(close: () => Promise<void>): void {
  let asked = false;
  const end = (): void => {
    if (asked) process.exit(1);
    asked = true;
    close().then(
      () => process.exit(0),
      () => process.exit(1),
    );
  };
  process.on('SIGTERM', end);
  process.on('SIGINT', end);
}
