import { exitCodes } from '../exit-codes.js';
import { type Command, commonOptions, type Option, operand } from './command.js';

const shells = ['bash', 'zsh', 'fish'] as const;

interface Verb {
  readonly summary: string;
  load(): Promise<{ readonly command: { readonly options: Readonly<Record<string, Option>> } }>;
}

/** The verb `completions`, which must know all the others. */
export const completionsOf = (commands: Readonly<Record<string, Verb>>): Command => ({
  about: 'Prints a script that completes commands, options and their values in a shell.',
  operands: [{ name: 'shell', about: shells.join(', ') }],
  options: {},
  examples: [
    ['offplate completions bash >> ~/.bashrc', 'for bash'],
    ['offplate completions zsh >> ~/.zshrc', 'for zsh, after the line with compinit'],
    ['offplate completions fish > ~/.config/fish/completions/offplate.fish', 'for fish'],
  ],
  async run(args, io) {
    const [{ completionScript }, { UsageError }] = await Promise.all([
      import('./completion-scripts.js'),
      import('../failure.js'),
    ]);
    const wanted = operand(args, 0);
    const shell = shells.find((name) => name === wanted);
    if (shell === undefined)
      throw new UsageError(
        `there are no completions for ${JSON.stringify(wanted)}; accepted: ${shells.join(', ')}`,
      );
    const verbs = await Promise.all(
      Object.entries(commands).map(async ([name, { summary, load }]) => {
        const { command: verb } = await load();
        return { name, summary, options: { ...verb.options, ...commonOptions } };
      }),
    );
    await io.stdout.write(completionScript(shell, verbs));
    return exitCodes.ok;
  },
});
