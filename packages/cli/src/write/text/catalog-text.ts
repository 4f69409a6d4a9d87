import {
  type Catalog,
  type Cell,
  provenance,
  type Row,
  rowKey,
  type TableName,
  tableProperties,
  tableSchemas,
} from '@offplate/core';
import { propertyOf } from '../../catalog-rows.js';
import type { Style } from './style.js';
import { textTable } from './table.js';
import { displayWidth } from './width.js';
