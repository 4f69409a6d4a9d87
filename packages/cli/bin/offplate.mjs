#!/usr/bin/env node
import process from 'node:process';
import { run } from '../dist/main.js';
import { nodeIo } from '../dist/node-io.js';

process.exitCode = await run(process.argv.slice(2), nodeIo());
