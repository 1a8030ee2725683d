import sharp from 'sharp';

/*
 * The one place where sharp is set up. No operation cache: a frame is decoded once and never again.
 * One thread per decode: parallel work comes from several measuring processes, not from inside one.
 */
sharp.cache(false);
sharp.concurrency(1);

export { sharp };
