/** What goes wrong outside the program, told in one sentence: files, folders, requests. */
import type { HostErrorCode } from '../../core/contract/channels.ts';

export class HostFailure extends Error {
  readonly code: HostErrorCode;
  /** `message` is one sentence for people. */
  constructor(code: HostErrorCode, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = 'HostFailure';
    this.code = code;
  }
}

const REASONS: Record<string, string> = {
  EACCES: 'permission is denied',
  EPERM: 'permission is denied',
  EBUSY: 'another program holds it',
  EDQUOT: 'the disk quota is used up',
  EEXIST: 'something else of this name is in the way',
  EFBIG: 'it would be larger than files may be here',
  EISDIR: 'it is a folder',
  ELOOP: 'its links lead in a circle',
  EMFILE: 'too many files are open',
  ENAMETOOLONG: 'the name is too long',
  ENOENT: 'it is not there',
  ENOSPC: 'the disk is full',
  ENOTDIR: 'a part of its path is no folder',
  EROFS: 'the disk is read-only',
};

/** The reason in words for an error of the file system, to complete "… because …". */
export function reasonOf(error: unknown): string {
  const code = codeOf(error);
  if (code !== undefined) return REASONS[code] ?? `the system says ${code}`;
  return error instanceof Error ? error.message : String(error);
}

/** The system's code of an error, such as `ENOENT`; undefined when it has none. */
export function codeOf(error: unknown): string | undefined {
  if (!(error instanceof Error) || !('code' in error)) return undefined;
  return typeof error.code === 'string' ? error.code : undefined;
}
