export const records = (n: number) => `${n} ${n === 1 ? 'record' : 'records'}`
