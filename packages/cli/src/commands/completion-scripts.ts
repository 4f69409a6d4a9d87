import type { Option } from './command.js';

export interface CompletedVerb {
  readonly name: string;
  readonly summary: string;
  readonly options: Readonly<Record<string, Option>>;
}

/** The script that teaches a shell the verbs and their options. */
export function completionScript(
  shell: 'bash' | 'zsh' | 'fish',
  verbs: readonly CompletedVerb[],
): string {
  return { bash, zsh, fish }[shell](verbs).join('\n').concat('\n');
}

function bash(verbs: readonly CompletedVerb[]): readonly string[] {
  const choices = new Map(
    verbs.flatMap(({ options }) =>
      Object.entries(options).flatMap(([name, option]) =>
        option.choices === undefined ? [] : [[name, option.choices] as const],
      ),
    ),
  );
  return [
    '_offplate() {',
    `  local current=\${COMP_WORDS[COMP_CWORD]} previous=\${COMP_WORDS[COMP_CWORD-1]}`,
    '  local verb= words= word',
    `  for word in "\${COMP_WORDS[@]:1:COMP_CWORD-1}"; do`,
    '    if [[ $word != -* ]]; then verb=$word; break; fi',
    '  done',
    '  case $previous in',
    ...[...choices].map(
      ([name, words]) =>
        `    --${name}) COMPREPLY=($(compgen -W "${words.join(' ')}" -- "$current")); return ;;`,
    ),
    '  esac',
    '  if [[ -z $verb ]]; then',
    `    words="${verbs.map(({ name }) => name).join(' ')} --help --version"`,
    '  elif [[ $current == -* ]]; then',
    '    case $verb in',
    ...verbs.map(
      ({ name, options }) =>
        `      ${name}) words="${Object.keys(options)
          .map((option) => `--${option}`)
          .join(' ')}" ;;`,
    ),
    '    esac',
    '  fi',
    '  COMPREPLY=($(compgen -W "$words" -- "$current"))',
    '}',
    'complete -o default -F _offplate offplate',
  ];
}

function zsh(verbs: readonly CompletedVerb[]): readonly string[] {
  const text = (about: string): string => about.replace(/[[\]:\\]/g, '\\$&');
  const option = ([name, { value, choices, about }]: readonly [string, Option]): string => {
    const what = choices === undefined ? ':_files' : `:(${choices.join(' ')})`;
    const takes = value === undefined ? '' : `:${text(value)}${what}`;
    return quoted(`--${name}[${text(about)}]${takes}`);
  };
  return [
    '#compdef offplate',
    '_offplate() {',
    '  local -a verbs',
    '  verbs=(',
    ...verbs.map(({ name, summary }) => `    ${quoted(`${name}:${text(summary)}`)}`),
    '  )',
    '  if (( CURRENT == 2 )); then _describe -t commands command verbs; return; fi',
    '  case $words[2] in',
    ...verbs.flatMap(({ name, options }) => [
      `    ${name})`,
      `      _arguments ${Object.entries(options).map(option).join(' ')} '*:file:_files' ;;`,
    ]),
    '  esac',
    '}',
    'compdef _offplate offplate',
  ];
}

function fish(verbs: readonly CompletedVerb[]): readonly string[] {
  return verbs.flatMap(({ name, summary, options }) => [
    `complete -c offplate -n __fish_use_subcommand -a ${name} -d ${quoted(summary)}`,
    ...Object.entries(options).map(([option, { value, choices, about }]) => {
      const words = choices === undefined ? '' : ` -f -a ${quoted(choices.join(' '))}`;
      const takes = value === undefined ? '' : ` -r${words}`;
      const seen = quoted(`__fish_seen_subcommand_from ${name}`);
      return `complete -c offplate -n ${seen} -l ${option}${takes} -d ${quoted(about)}`;
    }),
  ]);
}

/** In single quotes, as bash, zsh and fish all read it: a quote within ends, stands escaped, begins again. */
function quoted(text: string): string {
  return `'${text.replaceAll("'", "'\\''")}'`;
}
