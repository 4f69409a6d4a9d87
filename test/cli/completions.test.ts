import { spawnSync } from 'node:child_process';
import { describe, expect, test } from 'vitest';
import { commands } from '../../packages/cli/src/commands/table.js';
import { runFake } from './fake-io.js';

const scriptOf = async (shell: string): Promise<string> =>
  (await runFake(['completions', shell])).stdout;

/** What bash offers for a line whose last word is being typed. */
async function offered(...words: readonly string[]): Promise<readonly string[]> {
  const line = words.map((word) => `'${word}'`).join(' ');
  const done = spawnSync(
    'bash',
    [
      '-c',
      `${await scriptOf('bash')}\nCOMP_WORDS=(offplate ${line}); COMP_CWORD=${words.length}; _offplate; printf '%s\\n' "\${COMPREPLY[@]}"`,
    ],
    { encoding: 'utf8' },
  );
  expect(done.stderr).toBe('');
  return done.stdout.split('\n').filter((word) => word !== '');
}

describe('bash', () => {
  test('commands', async () => {
    expect(await offered('tr')).toEqual(['traveller']);
    expect(await offered('')).toEqual([...Object.keys(commands), '--help', '--version']);
  });

  test('options of the command, and the values that they take', async () => {
    expect(await offered('batch', '--re')).toEqual(['--resume']);
    expect(await offered('--no-color', 'plan', 'x', '--j')).toEqual(['--json']);
    expect(await offered('traveller', 'x', '--format', '')).toEqual(['A4', 'Letter']);
    // files are left to the shell
    expect(await offered('plan', 'x')).toEqual([]);
  });
});

test('zsh and fish know every command and option', async () => {
  const [zsh, fish] = await Promise.all([scriptOf('zsh'), scriptOf('fish')]);
  for (const [verb, { load }] of Object.entries(commands)) {
    const { options } = (await load()).command;
    expect(fish).toContain(`-a ${verb} -d`);
    const block = zsh.split(`\n    ${verb})\n`)[1]?.split('\n')[0] ?? '';
    for (const name of Object.keys(options)) {
      expect(block).toContain(`'--${name}[`);
      expect(fish).toContain(`'__fish_seen_subcommand_from ${verb}' -l ${name} `);
    }
  }
  // every quote is closed, but for those that stand escaped
  for (const script of [zsh, fish])
    expect((script.replaceAll("\\'", '').match(/'/g) ?? []).length % 2).toBe(0);
});

test('another shell is wrong usage', async () => {
  const done = await runFake(['completions', 'tcsh']);
  expect(done).toMatchObject({ code: 2, stdout: '' });
  expect(done.stderr).toContain('accepted: bash, zsh, fish');
});
