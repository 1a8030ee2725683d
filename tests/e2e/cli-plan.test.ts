import { describe, expect, it } from 'vitest';
import { PlanArithmetic } from '../../src/contracts/plan-arithmetic.js';
import { runCli } from '../support/cli.js';

const plan = (command: string) => runCli(['plan', ...command.split(' ')]);

describe('stopledger plan, as a process', () => {
  it.each([
    [
      'meter --reads f/8 --target f/11 --power 1/4',
      [/reads f\/8; you want f\/11/, /up by 1\.00 stop: 3 third-stop/, /from 1\/4 to 1\/2/],
    ],
    ['meter --ev 12 --shutter 1/125 --iso 100 --target 4', [/means f\/5\.6/, /down by 1\.00 stop/, /ISO 50/]],
    [
      'meter --lux 2560 --shutter 1/60 --iso 100 --target f/5.6',
      [/2560 lx \(EV 10\.00 at ISO 100 by a meter constant of 250\) means f\/4/, /up by 1\.00 stop/],
    ],
    [
      'trade --aperture f/8 --shutter 1/125 --iso 100 --light continuous',
      [/^f\/5\.6 +1\/250 s +100 +shutter +0\.00$/m],
    ],
    [
      'trade --aperture 8 --shutter 1/125 --iso 100 --light flash --sync 1/200 --to-shutter 1/500',
      [/shutter does nothing to the flash/, /in parts/, /part of the frame gets no flash/],
    ],
    [
      'guide --number 105ft --distance 13ft',
      [/3\.96 m \(13\.0 ft\), full power, ISO 100: set f\/8/, /^1\/128 /m, /eyes/],
    ],
    [
      'falloff --distance 1.5 --below 1.5,80cm',
      [/^place told +1\.50 m +2\.12 m +45° +-1\.50$/m, /^place told +0\.80 m .* -0\.54$/m],
    ],
    ['falloff --distance 2 --raised 0.8 --round 1.2 --aim waist', [/pointed at the waist/, /^ankle /m, /safety cable/]],
    [
      'move --distance 1 --to 2 --power 1/4 --aperture f/8',
      [/2\.00 stops less light/, /6 third-stop steps/, /to full/, /set f\/4\./],
    ],
    ['ratio --key f/8 --fill f/5.6', [/Additive ratio, .*: 3:1, 1\.58 stops/, /Source ratio, .*: 2:1/]],
  ])('%s', async (command, shows) => {
    const ran = await plan(command);
    expect(ran).toMatchObject({ status: 0, stderr: '' });
    for (const line of ran.stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
    for (const show of shows) expect(ran.stdout).toMatch(show);
  });

  it.each([
    ['meter --reads f/8+1/3 --target f/8 --json', { kind: 'meter', turn: { direction: 'down', thirdStopSteps: -1 } }],
    [
      'trade --aperture 8 --shutter 1/60 --iso 400 --light flash --to-iso 100 --json',
      { kind: 'trade', exactSyncSeconds: null },
    ],
    ['guide --number 32m --aperture f/8 --json', { kind: 'guide', solvedFor: 'distance', distanceMetres: 4 }],
    [
      'falloff --distance 5ft6in --raised -20cm --panel 2x3ft --json',
      { kind: 'falloff', light: { shape: 'panel', raisedMetres: -0.2 } },
    ],
    [
      'move --distance 2 --to 3 --to-raised 0.5 --round 90cm --json',
      { kind: 'move', after: { distanceMetres: 3, raisedMetres: 0.5 } },
    ],
    [
      'ratio --ratio 4:1 --definition source --fill f/4 --json',
      { kind: 'ratio', key: { fNumber: 8 }, additiveRatio: 5 },
    ],
  ])('%s keeps the published schema', async (command, holds) => {
    const ran = await plan(command);
    expect(ran).toMatchObject({ status: 0, stderr: '' });
    expect(PlanArithmetic.parse(JSON.parse(ran.stdout))).toMatchObject(holds);
  });

  it.each([
    ['meter --reads f/8 --target blue', /--target: an f-number .* expected; received "blue" \(bad-usage\)/],
    ['meter --target f/8', /--reads, --ev or --lux, one of them/],
    ['meter --lux 640 --ev 8 --shutter 1/60 --iso 100 --target f/8', /--reads, --ev or --lux, one of them/],
    ['meter --lux 640 --iso 100 --target f/8', /--lux with --shutter and --iso/],
    ['meter --lux bright --shutter 1/60 --iso 100 --target f/8', /--lux: an illuminance .* received "bright"/],
    ['meter --reads f/8 --meter-constant 250 --target f/8', /--meter-constant only with --lux/],
    [
      'meter --lux 640 --meter-constant 12.5 --shutter 1/60 --iso 100 --target f/8',
      /--meter-constant: a meter constant from 240 to 540/,
    ],
    ['meter --ev 12 --target f/8', /--ev with --shutter and --iso/],
    ['meter --reads f/8 --target f/11 --power 3', /--power: a power up to full .* received "3"/],
    ['trade --aperture 8 --shutter 125 --iso 100 --light flash', /--shutter: .* such as 1\/125.* received "125"/],
    ['trade --aperture 8 --shutter 1/125 --iso 100', /--light/],
    ['guide --number 32 --distance 4', /with its unit such as 32m or 105ft/],
    ['guide --number 32m', /--distance, --aperture or both expected/],
    ['falloff --distance 1/0', /--distance: a length above 0/],
    ['falloff --distance 1 --raised 3 --panel 1x3', /in front of the body.*quantity-out-of-range/],
    ['falloff --distance 1 --round 1 --panel 1x1', /--round or --panel, not both/],
    ['falloff --distance 1 --panel 60', /--panel: width x height/],
    ['ratio --ratio 3:1', /--ratio and --definition together/],
    ['polish', /unknown command 'polish'/],
  ])('%s ends with 1 and says what was expected', async (command, reason) => {
    const ran = await plan(command);
    expect(ran).toMatchObject({ status: 1, stdout: '' });
    expect(ran.stderr).toMatch(reason);
  });

  it('shows its sub-commands and examples', async () => {
    const help = await plan('--help');
    expect(help.status).toBe(0);
    for (const name of ['meter', 'trade', 'guide', 'falloff', 'move', 'ratio', 'Exit status: 0', 'Examples:'])
      expect(help.stdout).toContain(name);
  });
});
