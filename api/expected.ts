import type { z } from 'zod'

type Issue = z.core.$ZodIssue

/** What was expected at a field, in words a person can act on. */
export function expected(issue: Issue): string {
  switch (issue.code) {
    case 'invalid_type':
      return issue.input === undefined ? missing(issue.expected) : `must be ${noun(issue.expected)}`
    case 'too_small':
      return small(issue)
    case 'too_big':
      return big(issue)
    case 'invalid_value':
      return `must be one of: ${issue.values.map(String).join(', ')}`
    case 'invalid_format':
      return FORMATS[issue.format] ?? issue.message
    default:
      return issue.message
  }
}

const NOUNS: Readonly<Record<string, string>> = {
  number: 'a number',
  int: 'a whole number',
  string: 'text',
  boolean: 'true or false',
  array: 'a list',
  object: 'an object',
}

const FORMATS: Readonly<Record<string, string>> = {
  datetime: 'must be a moment in UTC such as 2027-03-22T05:00:00Z',
  date: 'must be a day such as 2027-03-22',
  uuid: 'must be a UUID',
}

const noun = (type: string) => NOUNS[type] ?? type

const missing = (type: string) => `is missing: ${noun(type)} is expected`

function small(issue: Extract<Issue, { code: 'too_small' }>): string {
  if (issue.origin === 'string')
    return Number(issue.minimum) <= 1 ? 'must not be empty' : `needs ${issue.minimum} signs or more`
  if (issue.origin === 'array') return `needs ${issue.minimum} or more entries`
  return `must be ${issue.inclusive ? 'at least' : 'more than'} ${issue.minimum}`
}

function big(issue: Extract<Issue, { code: 'too_big' }>): string {
  if (issue.origin === 'string') return `must have ${issue.maximum} signs at most`
  if (issue.origin === 'array') return `must have ${issue.maximum} entries at most`
  return `must be ${issue.inclusive ? 'at most' : 'less than'} ${issue.maximum}`
}
