/** What the process tells its caller. Stands in `--help`; a released number never changes its meaning. */
export const exitCodes = {
  ok: 0,
  computationSaysNo: 1,
  wrongUsage: 2,
  invalidInput: 3,
  fileTrouble: 4,
  internalError: 70,
  interrupted: 130,
} as const;

export type ExitCode = (typeof exitCodes)[keyof typeof exitCodes];

/** For the help text, in the order of the numbers. */
export const exitCodeTexts: readonly (readonly [code: ExitCode, text: string])[] = [
  [exitCodes.ok, 'done'],
  [
    exitCodes.computationSaysNo,
    'the computation says no: nothing feasible; late or too rarely in limits with --strict',
  ],
  [exitCodes.wrongUsage, 'wrong command, option or value of an option'],
  [exitCodes.invalidInput, 'the input holds errors'],
  [exitCodes.fileTrouble, 'a file cannot be read or written'],
  [exitCodes.internalError, 'internal error'],
  [exitCodes.interrupted, 'interrupted'],
];
